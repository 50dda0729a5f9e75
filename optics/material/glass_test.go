package material

import (
	"errors"
	"math"
	"strings"
	"testing"

	"wedgework/optics/quantity"
)

var lot = GlassSpec{
	Name: "lot 3", N: 1.5, Slope: -2e4, At: 1550e-9, Lo: 1500e-9, Hi: 1600e-9, Temperature: quantity.Celsius(23),
	Thermo: 2e-6, ThermoKnown: true, Expansion: 7e-6, ExpansionKnown: true, Source: "measured",
}

func TestGlassFromMeasuredValues(t *testing.T) {
	g, err := NewGlass(lot)
	if err != nil {
		t.Fatal(err)
	}
	n, err := g.At(1560e-9, quantity.Celsius(33))
	if err != nil {
		t.Fatal(err)
	}
	want := 1.5 - 2e-4 + 2e-5
	if math.Abs(n.N-want) > 1e-12 || math.Abs(n.Group-(want+1560e-9*2e4)) > 1e-12 {
		t.Errorf("got %+v, want n = %.6f, group %.6f", n, want, want+1560e-9*2e4)
	}
	if alpha, known := g.Expansion(); !known || alpha != 7e-6 {
		t.Errorf("expansion: got %g, %v", alpha, known)
	}
	if g.Name() != "lot 3" || g.Source() != "measured" || g.Data() != nil {
		t.Errorf("got name %q, source %q, data %q", g.Name(), g.Source(), g.Data())
	}
}

// The catalogue form takes the numbers of Malitson's fit as C and not C^2.
func TestGlassFromCatalogueCoefficients(t *testing.T) {
	s := lot
	s.N, s.Slope, s.Lo, s.Hi, s.Temperature = 0, 0, 0.3e-6, 2.3e-6, quantity.Celsius(20)
	for _, p := range [][2]float64{{0.6961663, 0.0684043}, {0.4079426, 0.1162414}, {0.8974794, 9.896161}} {
		s.Coefficients = append(s.Coefficients, p[0], p[1]*p[1])
	}
	g, err := NewGlass(s)
	if err != nil {
		t.Fatal(err)
	}
	silica, err := NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range []quantity.Length{0.3e-6, 1.31e-6, 1.55e-6, 2.3e-6} {
		got, err := g.At(l, quantity.Celsius(20))
		if err != nil {
			t.Fatal(err)
		}
		want, err := silica.At(l, quantity.Celsius(20))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.N-want.N) > 1e-13 || math.Abs(got.Group-want.Group) > 1e-12 {
			t.Errorf("at %g m: got %+v, want %+v", float64(l), got, want)
		}
	}
}

func TestGlassRefuses(t *testing.T) {
	for _, c := range []struct {
		change func(*GlassSpec)
		want   string
	}{
		{func(s *GlassSpec) { s.Name = " " }, "needs a name"},
		{func(s *GlassSpec) { s.N = 0.9 }, "between 1 and 10"},
		{func(s *GlassSpec) { s.N = math.NaN() }, "between 1 and 10"},
		{func(s *GlassSpec) { s.Slope = 1e8 }, "between 1 and 10"},
		{func(s *GlassSpec) { s.Slope = math.NaN() }, "between 1 and 10"},
		{func(s *GlassSpec) { s.Hi = s.Lo }, "range"},
		{func(s *GlassSpec) { s.Temperature = 0 }, "temperature"},
		{func(s *GlassSpec) { s.Thermo = 1 }, "dn/dT"},
		{func(s *GlassSpec) { s.Coefficients = []float64{1, 0.01} }, "not both"},
		{func(s *GlassSpec) { s.N, s.Coefficients = 0, []float64{1, 0.01, 2} }, "pairs"},
		{func(s *GlassSpec) { s.N, s.Coefficients = 0, []float64{1, 1.55 * 1.55} }, "glass"},
	} {
		s := lot
		c.change(&s)
		if _, err := NewGlass(s); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want %q", s, err, c.want)
		}
	}
}

func TestGlassOutsideWhatIsKnown(t *testing.T) {
	s := lot
	s.ThermoKnown, s.ExpansionKnown = false, false
	g, err := NewGlass(s)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := g.At(1550e-9, quantity.Celsius(70)); err == nil || !strings.Contains(err.Error(), "dn_dt=") {
		t.Errorf("hot, without dn/dT: got %v, want an error that says what to give", err)
	}
	var out *RangeError
	if _, err := g.At(1610e-9, quantity.Celsius(23)); !errors.As(err, &out) {
		t.Errorf("outside the range: got %v, want a range error", err)
	}
	x := g.Extrapolated()
	if n, err := x.At(1610e-9, quantity.Celsius(23)); err != nil || math.Abs(n.N-(1.5-12e-4)) > 1e-12 {
		t.Errorf("extrapolated: got %v, %v", n, err)
	}
	if w := x.Warning(1610e-9); !strings.Contains(w, "10 nm (0.63 %) above") {
		t.Errorf("warning: got %q", w)
	}
	if _, known := g.Expansion(); known {
		t.Error("an expansion that was not given is known")
	}
	if _, err := NamedGlass("silica"); err == nil || !strings.Contains(err.Error(), "fused silica") {
		t.Errorf("unknown glass: got %v, want the known names", err)
	}
}

// The slope behind the group index of the built-in glasses against a difference of the index.
func TestGlassGroupIndex(t *testing.T) {
	for _, name := range append(GlassNames(), ParamagnetNames()...) {
		g := isotropic(t, name)
		at := func(l quantity.Length) Index {
			n, err := g.At(l, quantity.Celsius(23))
			if err != nil {
				t.Fatal(err)
			}
			return n
		}
		const l, h = 1310e-9, 1e-10
		n := at(l)
		if want := n.N - l*(at(l+h).N-at(l-h).N)/(2*h); math.Abs(n.Group-want) > 1e-8 { // rounding over the step
			t.Errorf("%s: group index %.10f, want %.10f", name, n.Group, want)
		}
	}
}

func TestParamagnetFromMeasuredValues(t *testing.T) {
	s := ParamagnetSpec{
		GlassSpec:  lot,
		Verdet:     VerdetLaw{Constant: -20, Resonance: 250e-9, At: 1550e-9, Temperature: quantity.Celsius(23)},
		Extinction: 1e3, Absorption: 0.2,
	}
	p, err := NewParamagnet(s)
	if err != nil {
		t.Fatal(err)
	}
	cold := quantity.Temperature(float64(quantity.Celsius(23)) / 2)
	for _, c := range []struct {
		l    quantity.Length
		t    quantity.Temperature
		want float64
	}{
		{1550e-9, quantity.Celsius(23), -20},
		{1550e-9, cold, -40},
		{1510e-9, quantity.Celsius(23), -20 * (1.55*1.55 - 0.0625) / (1.51*1.51 - 0.0625)},
	} {
		got, err := p.Verdet(c.l, c.t)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got-c.want) > 1e-12 {
			t.Errorf("V at %g m, %g K: got %.9g, want %.9g", float64(c.l), float64(c.t), got, c.want)
		}
	}
	if math.Abs(p.Crossed()-1/1001.0) > 1e-15 || p.Absorption() != 0.2 || p.Extinction() != 1e3 {
		t.Errorf("crossed %g, absorption %g, extinction %g", p.Crossed(), p.Absorption(), p.Extinction())
	}
	var out *RangeError
	if _, err := p.Verdet(1700e-9, quantity.Celsius(23)); !errors.As(err, &out) {
		t.Errorf("outside the range: got %v, want a range error", err)
	}
	if _, err := p.Extrapolated().Verdet(1700e-9, quantity.Celsius(23)); err != nil {
		t.Errorf("extrapolated: %v", err)
	}
	if _, err := p.Extrapolated().Verdet(240e-9, quantity.Celsius(23)); err == nil {
		t.Error("below its resonance the law gave a constant")
	}
	if _, err := p.Verdet(1550e-9, 0); err == nil {
		t.Error("at 0 kelvin the law gave a constant")
	}
	for _, c := range []struct {
		change func(*ParamagnetSpec)
		want   string
	}{
		{func(s *ParamagnetSpec) { s.Verdet.Constant = 0 }, "verdet constant"},
		{func(s *ParamagnetSpec) { s.Verdet.Resonance = 1600e-9 }, "resonance"},
		{func(s *ParamagnetSpec) { s.Verdet.Resonance = 1520e-9 }, "range begins"},
		{func(s *ParamagnetSpec) { s.Verdet.Temperature = 0 }, "temperature"},
		{func(s *ParamagnetSpec) { s.Extinction = 0 }, "extinction"},
		{func(s *ParamagnetSpec) { s.Absorption = -1 }, "absorption"},
		{func(s *ParamagnetSpec) { s.N = 0 }, "index"},
	} {
		bad := s
		c.change(&bad)
		if _, err := NewParamagnet(bad); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want %q", bad, err, c.want)
		}
	}
}

func TestGarnetFromMeasuredValues(t *testing.T) {
	good := GarnetSpec{
		Name: "lot 9", Index: 2.3, Rotation: 1000 * deg * 100, Extinction: 1e4, Loss: 0.1, At: 1550e-9,
		Temperature: quantity.Celsius(23),
	}
	g, err := NewGarnet(good)
	if err != nil {
		t.Fatal(err)
	}
	if got := loss45(t, g); math.Abs(got-0.1) > 1e-12 {
		t.Errorf("loss of the 45 deg film: got %g dB, want 0.1", got)
	}
	for _, c := range []struct {
		change func(*GarnetSpec)
		want   string
	}{
		{func(s *GarnetSpec) { s.Name = "" }, "name"},
		{func(s *GarnetSpec) { s.Index = 0 }, "index"},
		{func(s *GarnetSpec) { s.Rotation = 0 }, "rotation"},
		{func(s *GarnetSpec) { s.Rotation = 1e9 }, "rotation"},
		{func(s *GarnetSpec) { s.PerKelvin = math.NaN() }, "slopes"},
		{func(s *GarnetSpec) { s.At = 0 }, "wavelength"},
		{func(s *GarnetSpec) { s.Extinction = 0.5 }, "extinction"},
		{func(s *GarnetSpec) { s.FigureOfMerit = 1 }, "not both"},
		{func(s *GarnetSpec) { s.Loss = -1 }, "negative"},
		{func(s *GarnetSpec) { s.Saturation = -1 }, "saturation"},
	} {
		s := good
		c.change(&s)
		if _, err := NewGarnet(s); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want %q", s, err, c.want)
		}
	}
}
