package limits_test

import (
	"math"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// TestChange: a change is limited in size, up and down alike. Its conformance probability is that of a normal figure
// between -L and +L (JCGM 106:2012, 7.4): with L = 0.5 dB, u = 0.1 dB and a change of 0.42 dB, Phi(0.8) - Phi(-9.2) =
// 0.7881 (printed tables of the normal distribution).
func TestChange(t *testing.T) {
	l := limits.Limit{Quantity: limits.InsertionLoss, Value: 0.5, Low: 1535 * quantity.Nanometre,
		High: 1565 * quantity.Nanometre, TemperatureLow: quantity.Celsius(23), TemperatureHigh: quantity.Celsius(23),
		Change: &limits.Change{Since: "before damp heat"}}
	if err := l.Check(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		change float64
		want   document.Outcome
	}{{0, document.Pass}, {0.29, document.Pass}, {-0.29, document.Pass}, {0.42, document.Undecided},
		{-0.42, document.Undecided}, {0.71, document.Fail}, {-0.71, document.Fail}} {
		d := limits.Decide(l, uncertainty.Estimate{Value: c.change, Standard: 0.1, DOF: math.Inf(1)})
		if d.Outcome != c.want || math.Abs(d.Margin-(0.5-math.Abs(c.change))) > 1e-12 {
			t.Errorf("a change of %g dB: %v with a margin of %g, want %v", c.change, d.Outcome, d.Margin, c.want)
		}
		if math.Abs(c.change) == 0.42 && math.Abs(d.Conformance-0.7881) > 5e-5 {
			t.Errorf("a change of %g dB conforms with %.4f, want 0.7881", c.change, d.Conformance)
		}
	}
	for what, change := range map[string]func(*limits.Limit){
		"no name of the earlier measurement": func(l *limits.Limit) { l.Change = &limits.Change{} },
		"at least":                           func(l *limits.Limit) { l.AtLeast = true },
		"a prior":                            func(l *limits.Limit) { l.Prior = &limits.Prior{Name: "lot", Mean: 1, Standard: 1} },
	} {
		bad := l
		change(&bad)
		if bad.Check() == nil {
			t.Errorf("%s: no error", what)
		}
	}
}
