package limits_test

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// isolation is the limit of the scenario: 30 dB from 1535 to 1565 nm at 23 degC.
var isolation = limits.Limit{
	Quantity: limits.Isolation, AtLeast: true, Value: 30,
	Low: 1535 * quantity.Nanometre, High: 1565 * quantity.Nanometre,
	TemperatureLow: quantity.Celsius(23), TemperatureHigh: quantity.Celsius(23),
}

// TestDecide walks the guard band of ISO 14253-1 with u = 0.1 dB, so U = w = 0.2 dB.
func TestDecide(t *testing.T) {
	loss := limits.Limit{Quantity: limits.InsertionLoss, Value: 0.6, Low: 1, High: 2, TemperatureLow: 1,
		TemperatureHigh: 2}
	for _, c := range []struct {
		name     string
		limit    limits.Limit
		rule     limits.Rule
		measured float64
		want     document.Outcome
		margin   float64
	}{
		{"well inside", isolation, limits.Guarded, 31, document.Pass, 1},
		{"inside by the guard band exactly", isolation, limits.Guarded, 30.25, document.Pass, 0.25},
		{"inside by less", isolation, limits.Guarded, 30.1, document.Undecided, 0.1},
		{"on the limit", isolation, limits.Guarded, 30, document.Undecided, 0},
		{"outside by less", isolation, limits.Guarded, 29.9, document.Undecided, -0.1},
		{"outside by more", isolation, limits.Guarded, 29.75, document.Fail, -0.25},
		{"simple acceptance on the limit", isolation, limits.Rule{}, 30, document.Pass, 0},
		{"simple acceptance outside", isolation, limits.Rule{}, 29.99, document.Fail, -0.01},
		{"loss inside", loss, limits.Guarded, 0.35, document.Pass, 0.25},
		{"loss undecided", loss, limits.Guarded, 0.5, document.Undecided, 0.1},
		{"loss outside", loss, limits.Guarded, 0.85, document.Fail, -0.25},
		{"not a number", loss, limits.Guarded, math.NaN(), document.Undecided, math.NaN()},
	} {
		c.limit.Rule = &c.rule
		d := limits.Decide(c.limit, uncertainty.Estimate{Value: c.measured, Standard: 0.1})
		if d.Outcome != c.want {
			t.Errorf("%s: got %v, want %v", c.name, d.Outcome, c.want)
		}
		// Rounding of one subtraction.
		if !(math.Abs(d.Margin-c.margin) < 1e-12) && !math.IsNaN(c.margin) {
			t.Errorf("%s: got margin %g, want %g", c.name, d.Margin, c.margin)
		}
	}
}

// TestOutsideByTheGuardBand: a figure that is outside by the whole guard band fails, as one that is inside by it
// passes: ISO 14253-1 proves each by the end of the interval on the limit. Binary fractions, so that the end is on it
// exactly.
func TestOutsideByTheGuardBand(t *testing.T) {
	for measured, want := range map[float64]document.Outcome{29.5: document.Fail, 30.5: document.Pass} {
		d := limits.Decide(isolation, uncertainty.Estimate{Value: measured, Standard: 0.25}).Between(measured-0.5,
			measured+0.5, 0.5)
		if d.GuardBand != 0.5 || d.Outcome != want {
			t.Errorf("%g dB: guard band %g and %v, want 0.5 and %v", measured, d.GuardBand, d.Outcome, want)
		}
	}
}

func TestConformance(t *testing.T) {
	// A margin of 1.6449 u conforms with 95 % (JCGM 106:2012: the one-sided guard band for a 5 % risk).
	for _, l := range []limits.Limit{isolation, {AtLeast: false, Value: 30}} {
		y := 30 + 1.6449*0.1
		if !l.AtLeast {
			y = 30 - 1.6449*0.1
		}
		d := limits.Decide(l, uncertainty.Estimate{Value: y, Standard: 0.1})
		if math.Abs(d.Conformance-0.95) > 1e-5 {
			t.Errorf("got %g, want 0.95", d.Conformance)
		}
	}
}

// TestFewDegreesOfFreedom: a poorly known uncertainty widens the guard band by Student's t.
func TestFewDegreesOfFreedom(t *testing.T) {
	d := limits.Decide(isolation, uncertainty.Estimate{Value: 30.25, Standard: 0.1, DOF: 3})
	// t for 95.45 % and 3 degrees of freedom is 3.31 (JCGM 100:2008, table G.2).
	if math.Abs(d.K-3.31) > 0.005 || d.Outcome != document.Undecided {
		t.Errorf("got k = %g and %v, want 3.31 and undecided", d.K, d.Outcome)
	}
}

func TestCovers(t *testing.T) {
	for _, c := range []struct {
		nm, celsius float64
		want        bool
	}{
		{1535, 23, true}, {1565, 23, true}, {1550, 23.9, true}, {1550, 24.1, false}, {1550, 21.9, false},
		{1534.999, 23, false}, {1565.001, 23, false},
	} {
		w := quantity.Length(quantity.Of(c.nm, "nm").SI())
		if got := isolation.Covers(w, quantity.Celsius(c.celsius), 1); got != c.want {
			t.Errorf("%g nm, %g degC: got %v, want %v", c.nm, c.celsius, got, c.want)
		}
	}
}

// TestNear: 22 and 24 degC are within 1 K of 23 degC, whatever rounding did on the way: the mean of 31 readings at 22
// degC is 295.14999999999992 K.
func TestNear(t *testing.T) {
	mean := quantity.Temperature(0)
	for range 31 {
		mean += quantity.Celsius(22) / 31
	}
	room := quantity.Celsius(23)
	for at, want := range map[quantity.Temperature]bool{mean: true, quantity.Celsius(22): true,
		quantity.Celsius(24): true, quantity.Celsius(21.99): false, quantity.Celsius(24.01): false} {
		if got := limits.Near(at, room, room, 1); got != want {
			t.Errorf("%.17g K: got %t, want %t", float64(at), got, want)
		}
	}
}

func TestCheck(t *testing.T) {
	if err := isolation.Check(); err != nil {
		t.Errorf("got %v", err)
	}
	for name, change := range map[string]func(*limits.Limit){
		"expected one of":          func(l *limits.Limit) { l.Quantity = "gain" },
		"is not a limit":           func(l *limits.Limit) { l.Value = math.NaN() },
		"above 0 dB was expected":  func(l *limits.Limit) { l.Value = -30 },
		"wavelengths in rising":    func(l *limits.Limit) { l.Low, l.High = l.High, l.Low },
		"temperatures run":         func(l *limits.Limit) { l.TemperatureHigh = 1 },
		"guard factor is -1":       func(l *limits.Limit) { l.Rule = &limits.Rule{Guard: -1} },
		"the prior has no name":    func(l *limits.Limit) { l.Prior = &limits.Prior{Mean: 35, Standard: 2} },
		"positive standard dev":    func(l *limits.Limit) { l.Prior = &limits.Prior{Name: "lot 26-10", Mean: 35} },
		"expected two wavelengths": func(l *limits.Limit) { l.Low = 0 },
	} {
		l := isolation
		change(&l)
		if err := l.Check(); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("got %v, want %q", err, name)
		}
	}
}

func TestWorst(t *testing.T) {
	pass, fail, undecided := document.Pass, document.Fail, document.Undecided
	for _, c := range []struct {
		in   []document.Outcome
		want document.Outcome
	}{
		{nil, undecided}, {[]document.Outcome{0, 0}, undecided}, {[]document.Outcome{pass, 0}, pass},
		{[]document.Outcome{pass, undecided, pass}, undecided}, {[]document.Outcome{undecided, fail, pass}, fail},
	} {
		if got := limits.Worst(c.in...); got != c.want {
			t.Errorf("%v: got %v, want %v", c.in, got, c.want)
		}
	}
}
