package words

import (
	"math"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/verify/decide"
	"wedgework/reports/verify/diagnose"
	"wedgework/reports/verify/fitting"
)

func TestClause(t *testing.T) {
	angle := func(value, u, tolerance float64, within document.Outcome) diagnose.Departure {
		return diagnose.Departure{Fitted: fitting.Fitted{Path: "rotator1.angle", Unit: quantity.MustNamed("deg"),
			Value: value,
			Sigma: u / 2}, Nominal: quantity.Of(45, "deg"), Departure: value - 45, U: u, Tolerance: tolerance,
			Within:      within,
			Significant: math.Abs(value-45) > u}
	}
	leak := func(value, low, high float64, atLeast bool, within document.Outcome) diagnose.Departure {
		d := diagnose.Departure{Fitted: fitting.Fitted{Path: "rotator1.extinction", Unit: quantity.MustNamed("dB"),
			Value: value,
			Low:   low, High: high, AtLeast: atLeast}, Nominal: quantity.Of(45, "dB"), Departure: value - 45, U: 0.1,
			Tolerance: 3,
			Within:    within, Significant: true}
		return d
	}
	for _, c := range []struct {
		name string
		d    diagnose.Departure
		want string
	}{
		{"inside", angle(45.1, 0.04, 0.3, document.Pass),
			"it is 45.100° ± 0.040°, 0.100° beyond the specified 45° and within the tolerance of ±0.3°"},
		{"outside", angle(44.41, 0.03, 0.3, document.Fail),
			"it is 44.410° ± 0.030°, 0.590° short of the specified 45° and outside the tolerance of ±0.3°"},
		{"on the edge", angle(45.3, 0.03, 0.3, document.Undecided),
			"it is 45.300° ± 0.030°, 0.300° beyond the specified 45°; whether that is within the tolerance of ±0.3° " +
				"cannot be decided"},
		{"no departure", angle(45.01, 0.04, 0.3, document.Pass),
			"it is 45.010° ± 0.040°, not distinguishable from the specified 45° and within the tolerance of ±0.3°"},
		{"leak", leak(30, 29.91, 30.08, false, document.Fail),
			"it is 30.00 dB (interval 29.91 to 30.08 dB), 15.00 dB below the specified 45 dB and outside the " +
				"tolerance of ±3.0 dB"},
		{"better", leak(60, 59.21, 60.97, false, document.Pass),
			"it is 60.00 dB (interval 59.21 to 60.97 dB), 15.00 dB above the specified 45 dB and better than the " +
				"tolerance of ±3.0 dB requires"},
		{"none", leak(0, 56.78, 0, true, document.Pass), "it is at least 56.78 dB and within the tolerance of ±3.0 dB"},
	} {
		if got := clause(c.d, "it"); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
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
		{"axes against each other", []diagnose.Alike{{Path: "wedge1.axis", Correlation: -1, Departure: deg(0.6)},
			{Path: "wedge2.axis", Correlation: 1, Departure: deg(-0.6)}},
			"an error in the angle between the optic axes of wedge1 and wedge2"},
		{"axes the same way are two errors", []diagnose.Alike{{Path: "wedge1.axis", Correlation: 1,
			Departure: deg(0.6)},
			{Path: "wedge2.axis", Correlation: 1, Departure: deg(0.6)}},
			"an error of +0.60° in wedge1.axis or an error of +0.60° in wedge2.axis"},
		{"rolls and a floor", []diagnose.Alike{{Path: "wedge1.roll", Correlation: -1, Departure: deg(0.6)},
			{Path: "wedge2.roll", Correlation: 1, Departure: deg(-0.6)},
			{Path: diagnose.FixturePath, Correlation: 1, Departure: quantity.Of(30.5, "dB")}},
			"a turn of wedge1 relative to wedge2 or a true fixture floor of 30.5 dB"},
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
			all = append(all, decide.Figure{Name: decide.MinimumIsolation, Quantity: limits.Isolation, Unit: "dB",
				Determined: true, High: 0.1,
				Specified: decide.FigureComparison{En: e}})
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
		{"undetermined", []decide.Figure{{Name: decide.MinimumIsolation, Specified: decide.FigureComparison{En: 9}}}, 1,
			document.Undecided},
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
