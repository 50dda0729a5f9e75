package lot

import (
	"fmt"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
)

// TestFigures: declared figures of one nominal temperature are one characteristic, whatever the chamber read; what
// their measurement is worth is a quarter of the coverage interval, which is two standard uncertainties to either side;
// and a value stands where its unit stands.
func TestFigures(t *testing.T) {
	unit := func(name string, celsius, peak float64) *verify.Result {
		return &verify.Result{Lot: "a", Unit: name, Runs: []verify.Sweep{{Temperature: quantity.Celsius(celsius)}},
			Figures: []verify.Figure{{Name: "peak", Condition: fmt.Sprint(celsius), Unit: "nm", Limit: -1,
				Determined: true,
				Measured:   peak, Low: peak - 0.5, High: peak + 0.5}}}
	}
	all := []*verify.Result{unit("1", 23, 1550), unit("2", 23.4, 1551), unit("3", 22.8, 1552), unit("4", 70, 1510)}
	s := Studies(all, How{Coverage: Usual})[0]
	if len(s.Characteristics) != 2 {
		t.Fatalf("%d characteristics, want one of 23 and one of 70 degC: %+v", len(s.Characteristics),
			s.Characteristics)
	}
	at23, at70 := s.Characteristics[0], s.Characteristics[1]
	if len(at23.Values) != 3 || len(at70.Values) != 1 {
		t.Fatalf("%d and %d values, want 3 and 1", len(at23.Values), len(at70.Values))
	}
	for i, u := range at23.Standard {
		near(t, "standard uncertainty", u, 0.25, 1e-12)
		near(t, "place", at23.At[i], float64(i+1), 0)
	}
	near(t, "place of the fourth unit", at70.At[0], 4, 0)
}

// result is a unit with one isolation in dB held against 30 dB, bounded or not, and one fitted angle in deg.
func result(lot, unit string, isolation, angle float64, bounded bool) *verify.Result {
	l := limits.Limit{Quantity: limits.Isolation, AtLeast: true, Value: 30, Low: 1.5e-6, High: 1.6e-6,
		TemperatureLow: 296.15, TemperatureHigh: 296.15}
	d := verify.Decision{Decision: limits.Decide(l, uncertainty.Estimate{Value: isolation, Standard: 0.1}),
		Decided: true, AtLeast: bounded}
	r := &verify.Result{Lot: lot, Unit: unit, Agreement: verify.Verdict{Outcome: document.Pass},
		Quality:    verify.Verdict{Outcome: document.Pass},
		Conformity: verify.Verdict{Outcome: d.Outcome}, Decisions: []verify.Decision{d}}
	if angle != 0 {
		r.Diagnosis.Departures = []verify.Departure{{Fitted: verify.Fitted{Path: "rotator1.angle",
			Unit: quantity.MustNamed("deg"), Value: angle, Sigma: 0.02}}}
	}
	return r
}

func TestStudies(t *testing.T) {
	studies := Studies([]*verify.Result{
		result("a", "1", 33, 45.1, false),
		result("b", "9", 40, 45, false), // alone in its lot
		result("a", "2", 31, 45.0, false),
		result("a", "3", 48, 45.3, true),  // at least 48 dB
		result("a", "4", 29, 0, false),    // nothing fitted
		result("a", "2", 32, 45.2, false), // measured again
	}, How{Coverage: Usual})
	if len(studies) != 1 || len(studies[0].Units) != 4 {
		t.Fatalf("got %+v, want one lot of four units", studies)
	}
	s := studies[0]
	if got, want := s.Sentence(), "3 of 4 units pass all three verdicts; limits: 3 pass, 1 fail, 0 undecided; not "+
		"stable from unit to unit: 1 of 2 figures, for which no tolerance interval is given"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	isolation, angle := s.Characteristics[0], s.Characteristics[1]
	if isolation.Name != "minimum isolation" || len(isolation.Values) != 3 || len(isolation.Bounded) != 1 ||
		isolation.Bounded[0] != "3" {
		t.Errorf("isolation: got %+v, want three values and unit 3 bounded", isolation)
	}
	// 33, 29, 32 in the order given, the second measurement of unit 2 in its place at the end.
	near(t, "mean", isolation.Mean, 94.0/3, 1e-12)
	near(t, "deviation", isolation.Deviation, 2.0816660, 1e-6)
	near(t, "lower tolerance limit", isolation.Interval.Low, 94.0/3-7.65590*2.0816660, 1e-3)
	near(t, "share of the measurement", isolation.Measurement, 0.01/(2.0816660*2.0816660), 1e-8)
	if isolation.Keeps != document.Undecided || isolation.Interval.High != 0 {
		t.Errorf("got %v and an upper end of %g, want undecided and none", isolation.Keeps, isolation.Interval.High)
	}
	if len(angle.Missing) != 1 || angle.Missing[0] != "4" || angle.Interval.Sides != Both || angle.Keeps != 0 {
		t.Errorf("angle: got %+v, want unit 4 missing, an interval with two ends and no limit", angle)
	}
	if q := angle.In(45); q != quantity.Of(45, "deg") {
		t.Errorf("got %v", q)
	}
}

// TestKeeps: many close units keep the limit; the same units in rising order do not show it, for the process moves.
func TestKeeps(t *testing.T) {
	steady, rising := []float64{35.1, 34.9, 35.2, 35.0, 34.8, 35.1, 35.0, 34.9}, []float64{34.8, 34.9, 34.9, 35.0, 35.0,
		35.1, 35.1, 35.2}
	for _, c := range []struct {
		values []float64
		want   document.Outcome
	}{{steady, document.Pass}, {rising, document.Undecided}} {
		var all []*verify.Result
		for i, v := range c.values {
			all = append(all, result("a", string(rune('1'+i)), v, 0, false))
		}
		if got := Studies(all, How{Coverage: Usual})[0].Characteristics[0]; got.Keeps != c.want ||
			got.Stable() != (c.want == document.Pass) {
			t.Errorf("%v: got %v, want %v", c.values, got.Keeps, c.want)
		}
	}
	if (Coverage{0.4, 0.95}).Check() == nil || Usual.Check() != nil {
		t.Error("coverage: expected 40 % to be refused and the usual one not")
	}
}
