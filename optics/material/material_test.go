package material

import (
	"errors"
	"math"
	"strings"
	"testing"

	"wedgework/optics/published"
	"wedgework/optics/quantity"
)

// TestIndicesAgainstPublishedTables reads testdata/published/indices.csv, where each row names its source.
func TestIndicesAgainstPublishedTables(t *testing.T) {
	seen := map[string]int{}
	for _, row := range published.Rows(t, "indices.csv") {
		um, want, tolerance := published.Number(t, row[2]), published.Number(t, row[3]), published.Number(t, row[4])
		got, err := indexOf(t, row[0], row[1], um)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got-want) > tolerance {
			t.Errorf("%s %s at %g um: n = %.5f, want %.5f within %g (%s)", row[0], row[1], um, got, want, tolerance,
				row[6])
		}
		seen[row[0]+row[1]]++
	}
	for _, name := range Names() {
		for _, ray := range []string{"o", "e"} {
			if seen[name+ray] == 0 {
				t.Errorf("%s %s: no published index to check against", name, ray)
			}
		}
	}
	for _, name := range append(GlassNames(), ParamagnetNames()...) {
		if seen[name+"iso"] == 0 {
			t.Errorf("%s: no published index to check against", name)
		}
	}
}

// indexOf returns the index at 20 degC of a built-in material of any kind.
func indexOf(t *testing.T, name, ray string, um float64) (float64, error) {
	t.Helper()
	l := quantity.Length(um) * quantity.Micrometre
	if ray == "iso" {
		n, err := isotropic(t, name).At(l, quantity.Celsius(20))
		return n.N, err
	}
	c, err := Named(name)
	if err != nil {
		t.Fatal(err)
	}
	n, err := c.At(l, quantity.Celsius(20))
	if ray == "e" {
		return n.E, err
	}
	return n.O, err
}

// isotropic returns a built-in glass, or the glass of a paramagnet.
func isotropic(t *testing.T, name string) *Glass {
	t.Helper()
	g, err := NamedGlass(name)
	if err == nil {
		return g
	}
	p, err := NamedParamagnet(name)
	if err != nil {
		t.Fatal(err)
	}
	return &p.Glass
}

// The analytic slope behind the group index against a five-point difference of the index itself.
func TestGroupIndexIsTheDerivative(t *testing.T) {
	for _, name := range Names() {
		c, err := Named(name)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := c.Range()
		for i := 1; i < 40; i++ {
			l := lo + (hi-lo)*quantity.Length(i)/40
			h := l * 1e-4
			at := func(x quantity.Length) Indices {
				n, err := c.At(x, quantity.Celsius(20))
				if err != nil {
					t.Fatal(err)
				}
				return n
			}
			slope := func(pick func(Indices) float64) float64 {
				return (8*(pick(at(l+h))-pick(at(l-h))) - (pick(at(l+2*h)) - pick(at(l-2*h)))) / float64(12*h)
			}
			n := at(l)
			o := n.O - float64(l)*slope(func(x Indices) float64 { return x.O })
			e := n.E - float64(l)*slope(func(x Indices) float64 { return x.E })
			// 1e-8: the rounding of the difference, 1e-16 over a step of 1e-4.
			if math.Abs(n.GroupO-o) > 1e-8 || math.Abs(n.GroupE-e) > 1e-8 {
				t.Errorf("%s at %g: group indices %.10f %.10f, want %.10f %.10f", name, l, n.GroupO, n.GroupE, o, e)
			}
		}
	}
}

func TestOutsideTheFit(t *testing.T) {
	c, err := Named("yvo4") // names ignore case
	if err != nil {
		t.Fatal(err)
	}
	_, err = c.At(1620e-9, quantity.Celsius(20))
	var out *RangeError
	if !errors.As(err, &out) || !strings.Contains(err.Error(), "500 to 1600 nm") {
		t.Errorf("1620 nm: %v, want a range error that names 500 to 1600 nm", err)
	}
	for _, nm := range []float64{500, 1600, math.NaN()} {
		_, err := c.At(quantity.Length(nm)*quantity.Nanometre, quantity.Celsius(20))
		if (err == nil) != !math.IsNaN(nm) {
			t.Errorf("%g nm: %v", nm, err)
		}
	}
	if _, err := Named("rutil"); err == nil || !strings.Contains(err.Error(), "rutile") {
		t.Errorf("unknown crystal: %v, want the known names", err)
	}
}

// Rutile has no published thermo-optic coefficient: no index is made up for it.
func TestUnknownThermoOptic(t *testing.T) {
	c, err := Named("rutile")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := c.At(1550e-9, quantity.Celsius(23)); err != nil {
		t.Errorf("at 23 degC: %v", err)
	}
	if _, err := c.At(1550e-9, quantity.Celsius(70)); err == nil || !strings.Contains(err.Error(), "dno_dt=") {
		t.Errorf("at 70 degC: %v, want an error that says what to give", err)
	}
}

func TestCrystalFromMeasuredValues(t *testing.T) {
	c, err := NewCrystal(CrystalSpec{
		Name: "lot 7", O: 1.9450, E: 2.1490, SlopeO: -3e4, SlopeE: -4e4, At: 1550e-9, Lo: 1500e-9, Hi: 1600e-9,
		Temperature: quantity.Celsius(23), ThermoO: 1e-5, ThermoKnown: true,
	})
	if err != nil {
		t.Fatal(err)
	}
	n, err := c.At(1560e-9, quantity.Celsius(33))
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []struct{ got, want float64 }{
		{n.O, 1.9450 - 3e-4 + 1e-4}, {n.E, 2.1490 - 4e-4},
		{n.GroupO, n.O + 1560e-9*3e4}, {n.GroupE, n.E + 1560e-9*4e4},
	} {
		if math.Abs(v.got-v.want) > 1e-12 {
			t.Errorf("index %.12f, want %.12f", v.got, v.want)
		}
	}
	if _, err := NewCrystal(CrystalSpec{Name: "glass", O: 1.5, E: 1.5, Lo: 1, Hi: 2}); err == nil {
		t.Error("a crystal without birefringence was accepted")
	}
}

// A crystal from the coefficients of a data sheet is the built-in one whose fit they are.
func TestCrystalFromCoefficients(t *testing.T) {
	// The widely quoted fit of YVO4; it holds at room temperature, where the built-in one holds it.
	s := CrystalSpec{
		Name: "sheet", CoefficientsO: []float64{3.77834, 0.069736, 0.04724, 0.0108133},
		CoefficientsE: []float64{4.59905, 0.110534, 0.04813, 0.012267612},
		Lo:            500e-9, Hi: 1600e-9, Temperature: quantity.Celsius(20),
	}
	c, err := NewCrystal(s)
	if err != nil {
		t.Fatal(err)
	}
	built, err := Named("YVO4")
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range []quantity.Length{500e-9, 1064e-9, 1550e-9, 1600e-9} {
		got, err := c.At(l, quantity.Celsius(20))
		if err != nil {
			t.Fatal(err)
		}
		if want, _ := built.At(l, quantity.Celsius(20)); got != want {
			t.Errorf("at %g m: %v, want %v", float64(l), got, want)
		}
	}
	for _, bad := range []struct {
		change func(*CrystalSpec)
		want   string
	}{
		{func(s *CrystalSpec) { s.O = 1.9 }, "not both"},
		{func(s *CrystalSpec) { s.CoefficientsO = s.CoefficientsO[:2] }, "2 and 4 coefficients"},
		{func(s *CrystalSpec) { s.CoefficientsE = nil }, "4 and 0 coefficients"},
		{func(s *CrystalSpec) { s.CoefficientsO = []float64{3.8, 0.07, 1, 0} }, "resonance"},
		{func(s *CrystalSpec) { s.CoefficientsE = []float64{0.5, 0.07, 0.04} }, "between 1 and 10"},
	} {
		x := s
		bad.change(&x)
		if _, err := NewCrystal(x); err == nil || !strings.Contains(err.Error(), bad.want) {
			t.Errorf("got %v, want %q", err, bad.want)
		}
	}
}

// The slopes are those of a 45 deg film and scale with thickness; loss at 45 deg is as the file states it.
func TestGarnetFilm(t *testing.T) {
	g, err := NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	const deg = math.Pi / 180
	ref := quantity.Celsius(23)
	for _, c := range []struct {
		angle, nm, celsius, want float64
	}{
		{45, 1550, 23, 45},
		{45, 1560, 23, 44.3},
		{45, 1550, 33, 44.4},
		{45, 1540, -7, 45 + 0.7 + 1.8},
		{22.5, 1560, 33, (45 - 0.7 - 0.6) / 2},
		{-45, 1560, 23, -44.3}, // a slope of |rotation|
		{0, 1560, 70, 0},
	} {
		got := g.Turn(quantity.Angle(c.angle*deg), 1550e-9, quantity.Length(c.nm*1e-9), ref,
			quantity.Celsius(c.celsius)) / deg
		if math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%g deg film at %g nm, %g degC turns %.9f deg, want %.9f", c.angle, c.nm, c.celsius, got, c.want)
		}
	}
	d, err := g.Thickness(45*deg, 1550e-9, ref)
	if err != nil {
		t.Fatal(err)
	}
	// US patent 5,565,131 (1996), abstract: at most 450 um for 45 deg at 1550 nm.
	if d <= 0 || d > 450e-6 {
		t.Errorf("thickness of a 45 deg film: %g m", d)
	}
	if loss := 10 * math.Log10(math.E) * g.Absorption * float64(d); math.Abs(loss-0.1) > 1e-12 {
		t.Errorf("loss of a 45 deg film %g dB, want the 0.1 dB of its file", loss)
	}
	if q := g.Crossed(); math.Abs(q-1/(1+1e4)) > 1e-15 {
		t.Errorf("crossed fraction %g of a 40 dB film", q)
	}
}
