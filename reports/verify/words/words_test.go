package words

import (
	"math"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
	"wedgework/reports/verify/decide"
	"wedgework/reports/verify/diagnose"
	"wedgework/reports/verify/model"
)

func TestJudge(t *testing.T) {
	deg := float64(quantity.Degree)
	angle := &model.Variable{Path: "rotator1.angle", Nominal: quantity.Of(45, "deg"), At: 45 * deg, Lo: 0, Hi: 90 * deg, Angle: true}
	leak, err := model.NewVariable(model.Parameter{Path: "rotator1.extinction", Value: quantity.Of(45, "dB")})
	if err != nil {
		t.Fatal(err)
	}
	tolerances := map[string]tolerance.Tolerance{
		"rotator1.angle":      {Shape: tolerance.Uniform, Value: quantity.Of(0.3, "deg")},
		"rotator1.extinction": {Shape: tolerance.Normal, Value: quantity.Of(1.5, "dB")},
	}
	for _, c := range []struct {
		name     string
		v        *model.Variable
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
		d := diagnose.NewDeparture(c.v, c.x, c.sigma, tolerances)
		if d.Within != c.within {
			t.Errorf("%s: got %v, want %v", c.name, d.Within, c.within)
		}
		if got := clause(d, d.Path); got != c.clause {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.clause)
		}
	}
}

func TestOthers(t *testing.T) {
	deg := func(v float64) quantity.Quantity { return quantity.Of(v, "deg") }
	for _, c := range []struct {
		name  string
		alike []diagnose.Alike
		want  string
	}{
		{"axes against each other", []diagnose.Alike{{Path: "wedge1.axis", Correlation: -1, Departure: deg(0.6)}, {Path: "wedge2.axis", Correlation: 1, Departure: deg(-0.6)}},
			"an error of the angle between the axes of wedge1 and wedge2"},
		{"axes the same way are two errors", []diagnose.Alike{{Path: "wedge1.axis", Correlation: 1, Departure: deg(0.6)}, {Path: "wedge2.axis", Correlation: 1, Departure: deg(0.6)}},
			"an error of +0.60 deg of wedge1.axis or an error of +0.60 deg of wedge2.axis"},
		{"rolls and a floor", []diagnose.Alike{{Path: "wedge1.roll", Correlation: -1, Departure: deg(0.6)}, {Path: "wedge2.roll", Correlation: 1, Departure: deg(-0.6)}, {Path: diagnose.FixturePath, Correlation: 1, Departure: quantity.Of(30.5, "dB")}},
			"a turn of wedge1 against wedge2 or a fixture floor of 30.5 dB, which was not measured,"},
	} {
		if got := others(c.alike); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
	}
}

// TestAgreement: one |E_n| a little above 1 among many is chance unless the figures together say otherwise.
func TestAgreement(t *testing.T) {
	figures := func(en ...float64) []decide.Figure {
		var all []decide.Figure
		for _, e := range en {
			all = append(all, decide.Figure{Name: "least isolation", Unit: "dB", Determined: true, High: 0.1, Specified: decide.FigureComparison{En: e}})
		}
		return all
	}
	for _, c := range []struct {
		name    string
		figures []decide.Figure
		p       float64
		want    document.Outcome
	}{
		{"none", nil, 1, document.Undecided},
		{"within", figures(0.5, -0.9), 0.5, document.Pass},
		{"one of one", figures(1.1), 0.03, document.Fail},
		{"one of eight by chance", figures(0, 0, 0, 0, 0, 0, 0, 1.1), 0.4, document.Pass},
		{"one of eight beyond chance", figures(0, 0, 0, 0, 0, 0, 0, 1.6), 0.2, document.Fail},
		{"not together", figures(0.9, 0.9), 0.01, document.Undecided},
		{"only a loss", []decide.Figure{{Name: "insertion loss", Determined: true}}, 1, document.Undecided},
		{"undetermined", []decide.Figure{{Name: "least isolation", Specified: decide.FigureComparison{En: 9}}}, 1, document.Undecided},
	} {
		if got := agreement(c.figures, decide.Joint{Count: len(c.figures), PValue: c.p}); got.Outcome != c.want {
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
