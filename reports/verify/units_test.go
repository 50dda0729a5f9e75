package verify

import (
	"math"
	"math/rand/v2"
	"testing"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
	"wedgework/reports/measured"
)

// TestLogPhi compares with values of the normal distribution function in tables (Abramowitz and Stegun,
// table 26.2) and checks that the two forms meet.
func TestLogPhi(t *testing.T) {
	for _, c := range []struct{ z, want float64 }{
		{0, math.Log(0.5)},
		{1.6448536269514722, math.Log(0.95)},
		{-2, math.Log(0.0227501319)},
		{-5, -15.064998393988726},
		{10, -7.619853024160527e-24},
	} {
		if got := logPhi(c.z); math.Abs(got-c.want) > 1e-8*math.Abs(c.want) {
			t.Errorf("at %g: got %.12g, want %.12g", c.z, got, c.want)
		}
	}
	// Three terms of the series leave 15/z^6.
	if a, b := logPhi(-24.999999), logPhi(-25.000001); math.Abs(a-b) > 1e-4 {
		t.Errorf("the two forms meet at -25 with %.9g and %.9g", a, b)
	}
}

func TestDecimals(t *testing.T) {
	for _, c := range []struct {
		u    float64
		want int
	}{{0.031, 2}, {0.029, 3}, {0.012, 3}, {0.3, 1}, {4, 0}, {1.5, 1}, {120, 0}, {0, 2}, {math.Inf(1), 2}} {
		if got := decimals(c.u); got != c.want {
			t.Errorf("%g: got %d decimals, want %d", c.u, got, c.want)
		}
	}
}

func TestJudge(t *testing.T) {
	deg := float64(quantity.Degree)
	angle := &vary{path: "rotator1.angle", nominal: quantity.Of(45, "deg"), at: 45 * deg, lo: 0, hi: 90 * deg, angle: true}
	leak, err := newVary(Parameter{"rotator1.extinction", quantity.Of(45, "dB")})
	if err != nil {
		t.Fatal(err)
	}
	tolerances := map[string]Tolerance{
		"rotator1.angle":      {Shape: Uniform, Value: quantity.Of(0.3, "deg")},
		"rotator1.extinction": {Shape: Normal, Value: quantity.Of(1.5, "dB")},
	}
	for _, c := range []struct {
		name     string
		v        *vary
		x, sigma float64
		within   document.Outcome
		clause   string
	}{
		{"inside", angle, 45.1 * deg, 0.02 * deg, document.Pass, "rotator1.angle is 45.100 ± 0.040 deg, 0.100 deg beyond 45 deg and within its tolerance of ±0.3 deg"},
		{"outside", angle, 44.41 * deg, 0.015 * deg, document.Fail, "rotator1.angle is 44.410 ± 0.030 deg, 0.590 deg short of 45 deg and outside its tolerance of ±0.3 deg"},
		{"on the edge", angle, 45.3 * deg, 0.015 * deg, document.Undecided, "rotator1.angle is 45.300 ± 0.030 deg, 0.300 deg beyond 45 deg; it cannot be said whether that is within its tolerance of ±0.3 deg"},
		{"no departure", angle, 45.01 * deg, 0.02 * deg, document.Pass, "rotator1.angle is 45.010 ± 0.040 deg, not distinguishable from 45 deg and within its tolerance of ±0.3 deg"},
		{"leak", leak, 1e-3, 1e-5, document.Fail, "rotator1.extinction is 30.00 dB (29.91 to 30.08 dB), 15.00 dB below 45 dB and outside its tolerance of ±3.0 dB"},
		{"better", leak, 1e-6, 1e-7, document.Pass, "rotator1.extinction is 60.00 dB (59.21 to 60.97 dB), 15.00 dB above 45 dB and better than its tolerance of ±3.0 dB asks"},
		{"none", leak, 1e-7, 1e-6, document.Pass, "rotator1.extinction is at least 56.78 dB and within its tolerance of ±3.0 dB"},
		{"too little known", leak, 1e-7, 1e-3, document.Undecided, "rotator1.extinction is at least 26.98 dB; it cannot be said whether that is within its tolerance of ±3.0 dB"},
	} {
		d := judge(c.v, c.x, c.sigma, tolerances)
		if d.Within != c.within {
			t.Errorf("%s: got %v, want %v", c.name, d.Within, c.within)
		}
		if got := clause(d, d.Path); got != c.clause {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.clause)
		}
	}
}

// TestIntervalOfALeak: the interval holds as often as it says wherever the truth lies, next to no leak at all too, where the
// data decide whether it has two ends. Within two standard uncertainties of none no fit, which cannot go below it, falls
// short of the truth, and the interval misses only on the other side.
func TestIntervalOfALeak(t *testing.T) {
	v, err := newVary(Parameter{"rotator1.extinction", quantity.Of(45, "dB")})
	if err != nil {
		t.Fatal(err)
	}
	const sigma, draws = 1e-5, 40000
	rng := rand.New(rand.NewPCG(1, 9))
	for _, truth := range []float64{0.2, 1, 1.9, 2.1, 3, 3.8, 6} {
		held, ends := 0, 0
		for range draws {
			f := fitted(v, max(truth*sigma+sigma*rng.NormFloat64(), v.lo), sigma)
			most, least := tolerance.Leak(f.Low), 0.0
			if !f.AtLeast {
				least = tolerance.Leak(f.High)
				ends++
			}
			if least <= truth*sigma && truth*sigma <= most {
				held++
			}
		}
		share, want := 100*float64(held)/draws, 95.45
		if truth < 2 {
			want = 97.725
		}
		if math.Abs(share-want) > 0.42 { // four standard deviations of such a count
			t.Errorf("a leak of %g standard uncertainties is held in %.2f %%, %d with both ends", truth, share, ends)
		}
	}
}

func TestCombinationOfAny(t *testing.T) {
	e := &ranking{groups: [][]string{{"wedge1.roll", "- wedge2.axis", "- rotator1.angle"}}}
	for path, want := range map[string]string{
		"wedge1.roll":    "wedge1.roll - wedge2.axis - rotator1.angle",
		"rotator1.angle": "rotator1.angle - wedge1.roll + wedge2.axis",
		"beam.loss":      "",
	} {
		if got := e.combination(path); got != want {
			t.Errorf("%s: got %q, want %q", path, got, want)
		}
	}
}

func TestOthers(t *testing.T) {
	deg := func(v float64) quantity.Quantity { return quantity.Of(v, "deg") }
	for _, c := range []struct {
		name  string
		alike []Alike
		want  string
	}{
		{"axes against each other", []Alike{{"wedge1.axis", -1, deg(0.6)}, {"wedge2.axis", 1, deg(-0.6)}},
			"an error of the angle between the axes of wedge1 and wedge2"},
		{"axes the same way are two errors", []Alike{{"wedge1.axis", 1, deg(0.6)}, {"wedge2.axis", 1, deg(0.6)}},
			"an error of +0.60 deg of wedge1.axis or an error of +0.60 deg of wedge2.axis"},
		{"rolls and a floor", []Alike{{"wedge1.roll", -1, deg(0.6)}, {"wedge2.roll", 1, deg(-0.6)}, {FixturePath, 1, quantity.Of(30.5, "dB")}},
			"a turn of wedge1 against wedge2 or a fixture floor of 30.5 dB, which was not measured,"},
	} {
		if got := others(c.alike); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
	}
}

// TestAgreement: one |E_n| a little above 1 among many is chance unless the figures together say otherwise.
func TestAgreement(t *testing.T) {
	figures := func(en ...float64) []Figure {
		var all []Figure
		for _, e := range en {
			all = append(all, Figure{Name: "least isolation", Unit: "dB", Determined: true, High: 0.1, Specified: FigureComparison{En: e}})
		}
		return all
	}
	for _, c := range []struct {
		name    string
		figures []Figure
		p       float64
		want    document.Outcome
	}{
		{"none", nil, 1, document.Undecided},
		{"within", figures(0.5, -0.9), 0.5, document.Pass},
		{"one of one", figures(1.1), 0.03, document.Fail},
		{"one of eight by chance", figures(0, 0, 0, 0, 0, 0, 0, 1.1), 0.4, document.Pass},
		{"one of eight beyond chance", figures(0, 0, 0, 0, 0, 0, 0, 1.6), 0.2, document.Fail},
		{"not together", figures(0.9, 0.9), 0.01, document.Undecided},
		{"only a loss", []Figure{{Name: "insertion loss", Determined: true}}, 1, document.Undecided},
		{"undetermined", []Figure{{Name: "least isolation", Specified: FigureComparison{En: 9}}}, 1, document.Undecided},
	} {
		if got := agreement(c.figures, Joint{Count: len(c.figures), PValue: c.p}); got.Outcome != c.want {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
	// One figure: the plain rule of E_n. Sidak: for eight at 95.45 % each gets 99.42 %, z = 2.76.
	if got := critical(1); math.Abs(got-1) > 1e-12 {
		t.Errorf("critical |E_n| of one figure: got %g, want 1", got)
	}
	if got := critical(8); math.Abs(got-2.76/2) > 0.005 {
		t.Errorf("critical |E_n| of eight: got %g, want 1.38", got)
	}
}

func TestSmooth(t *testing.T) {
	var ls []quantity.Length
	for k := range 401 {
		ls = append(ls, quantity.Length(1500e-9+0.2e-9*float64(k)))
	}
	count := 0
	curve := func(periods float64) func([]quantity.Length) ([]polar.Gram, error) {
		return func(ls []quantity.Length) ([]polar.Gram, error) {
			count += len(ls)
			out := make([]polar.Gram, len(ls))
			for i, l := range ls {
				s := math.Sin(periods * math.Pi * float64(l-1550e-9) / 80e-9)
				out[i] = polar.Gram{XX: 1e-5 + s*s, YY: 0.5 * (1e-5 + s*s)}
			}
			return out, nil
		}
	}
	for _, c := range []struct {
		name    string
		periods float64
		few     bool
	}{{"a null", 0.1, true}, {"some ripple", 3, true}, {"a comb that needs every point", 60, false}} {
		count = 0
		got, err := smooth(ls, false, curve(c.periods), func(h polar.Gram) polar.Gram { return h })
		if err != nil {
			t.Fatal(err)
		}
		if few := count < 100; few != c.few {
			t.Errorf("%s: %d evaluations for %d wavelengths", c.name, count, len(ls))
		}
		want, _ := curve(c.periods)(ls)
		for i := range ls {
			if math.Abs(got[i].XX-want[i].XX) > 1e-4*want[i].XX || math.Abs(got[i].YY-want[i].YY) > 1e-4*want[i].YY {
				t.Errorf("%s at %.1f nm: got %v, want %v", c.name, float64(ls[i])*1e9, got[i], want[i])
				break
			}
		}
	}
}

func TestFromTable(t *testing.T) {
	nan := math.NaN()
	table := &measured.Table{
		File:        measured.File{Name: "unit.csv", SHA256: "ab"},
		Meta:        []measured.KeyValue{{Key: "unit", Value: "0417", Line: 1}, {Key: "source polarization", Value: "scrambled", Line: 2}},
		Wavelength:  []quantity.Length{1550e-9, 1551e-9},
		Temperature: []quantity.Temperature{296.15, 296.15},
		Isolation:   []float64{40, nan},
		U:           map[string][]float64{measured.Isolation: {0.1, nan}},
		Line:        []int{4, 5},
	}
	r, err := FromTable(table)
	if err != nil {
		t.Fatal(err)
	}
	if r.Unit != "0417" || r.Polarization != Scrambled || len(r.Rows) != 2 || r.Meta[0] != [2]string{"unit", "0417"} {
		t.Errorf("got %+v", r)
	}
	if a := r.Rows[0]; a.Line != 4 || a.Isolation != 40 || a.UIsolation != 0.1 || !math.IsNaN(a.InsertionLoss) || !math.IsNaN(a.PDL) {
		t.Errorf("got %+v", a)
	}
	table.Bound = map[string][]bool{measured.Isolation: {true, false}}
	if r, err := FromTable(table); err != nil || !r.Rows[0].AtLeast || r.Rows[1].AtLeast {
		t.Errorf("a bound: got %+v, %v", r.Rows, err)
	}
	table.U[measured.Wavelength], table.U[measured.Temperature] = []float64{1e-12, nan}, []float64{0.3, 0.2}
	if r, err := FromTable(table); err != nil || r.Rows[0].UWavelength != 1e-12 || r.Rows[1].UWavelength != 0 || r.Rows[1].UTemperature != 0.2 {
		t.Errorf("uncertainties of where readings stand: got %+v, %v", r.Rows, err)
	}
	table.Columns = []measured.Column{{Name: measured.Isolation, Index: 3}, {Name: measured.Isolation, Index: 5, Uncertainty: true, Head: "u(isolation) [dB]"}}
	table.U[measured.Isolation][1] = 0
	if _, err := FromTable(table); err == nil || err.Error() != `unit.csv: line 5, column 5 (u(isolation) [dB]): found 0, expected a standard uncertainty above zero, or an empty field where the budget is to say it` {
		t.Errorf("an uncertainty of zero: %v", err)
	}
	table.Units = []string{"0417", "0418"}
	if _, err := FromTable(table); err == nil {
		t.Error("two units in one table: expected an error")
	}
}
