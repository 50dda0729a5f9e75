package review_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/review"
)

// crossed is two polarizers whose axes differ by 60 deg.
func crossed(t *testing.T) *stack.Stack {
	t.Helper()
	s, err := stack.New(stack.Spec{
		Elements: []element.Element{element.Polarizer{Extinction: 1e12},
			element.Polarizer{Axis: 60 * quantity.Degree, Extinction: 1e12}},
		Beam:    element.Collimator{Waist: 2e-3, WorkingDistance: 10e-3, ReturnFloor: 60},
		AlignAt: 1550e-9, AlignTemperature: quantity.Celsius(23),
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func limit(q limits.Quantity, value float64) limits.Limit {
	return limits.Limit{Quantity: q, AtLeast: q.AtLeast(), Value: value, Low: 1540e-9, High: 1560e-9,
		TemperatureLow: quantity.Celsius(0), TemperatureHigh: quantity.Celsius(50)}
}

// TestMalus: along the passing axis crossed polarizers lose cos^2(60 deg), 6.0206 dB (Malus), either way; the mean over
// polarization is 3.0103 dB more, and the worst state loses everything. One polarization alone has no delay against
// another.
func TestMalus(t *testing.T) {
	near := 6.0206
	for _, c := range []struct {
		limit limits.Limit
		want  document.Outcome
		value float64
	}{
		{limit(limits.InsertionLossMin, 6.03), document.Pass, near},
		{limit(limits.InsertionLossMin, 6.01), document.Fail, near},
		{limit(limits.InsertionLossMean, 9.05), document.Pass, near + 3.0103},
		{limit(limits.IsolationMean, 9.05), document.Fail, near + 3.0103},
		{limit(limits.Isolation, 6.01), document.Pass, near},
		{limit(limits.InsertionLoss, 9), document.Fail, 120},
		{limit(limits.ReturnLoss, 59), document.Pass, 60},
	} {
		r, err := review.Run(context.Background(), review.Spec{Name: "polarizers", Stack: crossed(t),
			Limits: limits.Limits{c.limit}})
		if err != nil {
			t.Fatal(err)
		}
		f := r.Figures[0]
		// A waist of 2 mm spreads by less than 1e-5 of the power on its way.
		if f.Outcome != c.want || r.Conformity.Outcome != c.want || math.Abs(f.Value-c.value) > 1e-3 ||
			r.Passes() != (c.want == document.Pass) {
			t.Errorf("%s %g: %v with %.5f dB, want %v with %.5f", c.limit.Quantity, c.limit.Value, f.Outcome, f.Value,
				c.want, c.value)
		}
		if margin := f.Value - c.limit.Value; math.Abs(math.Abs(margin)-math.Abs(f.Margin)) > 1e-12 ||
			(f.Margin >= 0) != (c.want == document.Pass) {
			t.Errorf("%s: a margin of %g", c.limit.Quantity, f.Margin)
		}
	}
}

// TestVerdicts: a failure outweighs what is not decided; a yield is enough only when its whole interval is.
func TestVerdicts(t *testing.T) {
	of := func(y *review.Yield, all ...limits.Limit) *review.Result {
		t.Helper()
		r, err := review.Run(context.Background(), review.Spec{Name: "d", Stack: crossed(t), Limits: all, Yield: y})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	good, bad, none := limit(limits.Isolation, 6), limit(limits.Isolation, 30), limit(limits.InsertionLossMin, 6.5)
	if r := of(nil, good, none); r.Conformity.Outcome != document.Pass || review.Closest(r.Figures) != 0 ||
		!strings.Contains(r.Conformity.Sentence, "the closest is isolation at least 6.00 dB") {
		t.Errorf("%v: %s", r.Conformity.Outcome, r.Conformity.Sentence)
	}
	if r := of(nil, good, bad); r.Conformity.Outcome != document.Fail || review.Closest(r.Figures) != 1 ||
		!strings.Contains(r.Conformity.Sentence, "limit not met: isolation at least 30.00 dB") {
		t.Errorf("%v: %s", r.Conformity.Outcome, r.Conformity.Sentence)
	}
	for want, low := range map[document.Outcome]float64{document.Pass: 0.91, document.Undecided: 0.85,
		document.Fail: 0.8} {
		r := of(&review.Yield{Units: 100, Good: 90, Low: low, High: low + 0.07, Each: []int{90}, Least: 0.9}, good)
		if r.Enough.Outcome != want || r.Passes() != (want == document.Pass) {
			t.Errorf("an interval from %g: %v, want %v", low, r.Enough.Outcome, want)
		}
	}
	change := good
	change.AtLeast, change.Change = false, &limits.Change{Since: "before damp heat"}
	for what, all := range map[string]limits.Limits{"no limit": nil, "a change": {change}} {
		if _, err := review.Run(context.Background(), review.Spec{Stack: crossed(t), Limits: all}); err == nil {
			t.Errorf("%s: no error", what)
		}
	}
}
