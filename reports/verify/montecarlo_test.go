package verify_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
)

// TestMonteCarloAgrees: well above the floor and off the null, errors are small against the power and both methods
// agree.
func TestMonteCarloAgrees(t *testing.T) {
	r := run(t, scenario(good(), other))
	for _, b := range r.Budgets {
		m := b.MonteCarlo
		if m.Trials == 0 || !m.Agrees || !m.Stable {
			t.Errorf("%s: got %+v, want agreement", b.Figure, m)
		}
		if m.LinearLow > m.LinearHigh || math.Abs(m.Low-m.LinearLow) > m.Tolerance {
			t.Errorf("%s: got %+v", b.Figure, m)
		}
	}
	if len(r.Cautions) > 0 {
		t.Errorf("cautions without a cause: %q", r.Cautions)
	}
}

// TestMonteCarloNearFloor: a reading 2.2 dB above a floor that is known to 1.2 dB. Its net power has a normal part and
// a lognormal one of like size, and in dB the interval reaches much further up than down. Held against the closed form:
// with R the power read and F the floor, an isolation's ends are where R - F 10^(e/10) has its quantiles.
func TestMonteCarloNearFloor(t *testing.T) {
	const read, floor, sigma = 42.0, 44.2, 1.2
	row := func(nm, isolation float64) verify.Reading {
		return verify.Reading{Line: int(nm), Wavelength: quantity.Length(nm) * quantity.Nanometre,
			Temperature: quantity.Celsius(23), Figures: figures(isolation)}
	}
	s := verify.Spec{
		Model: nominal,
		Readings: verify.Readings{File: "a.csv", Polarization: verify.MinMax,
			Rows: []verify.Reading{row(1549, 42.05), row(1550, read), row(1551, 42.1)}},
		Limits: limits.Limits{{Quantity: limits.Isolation, AtLeast: true, Value: 43.8, Low: 1549 * quantity.Nanometre,
			High:           1551 * quantity.Nanometre,
			TemperatureLow: quantity.Celsius(23), TemperatureHigh: quantity.Celsius(23)}},
		Budget: uncertainty.Budget{
			Contributions: []uncertainty.Contribution{{Name: "repeatability", Value: quantity.Of(0.0001, "dB")}},
			Floor:         &uncertainty.Floor{Level: quantity.Of(floor, "dB"), Uncertainty: quantity.Of(sigma, "dB")},
		},
	}
	r := run(t, s)
	m := r.Budgets[0].MonteCarlo
	net := func(e float64) float64 {
		p := math.Pow(10, -read/10) - math.Pow(10, -(floor-e)/10)
		return -10 * math.Log10(p)
	}
	// 95.45 % of a normal distribution lie within two standard deviations. The trials settle to a fifth of the
	// tolerance.
	if math.Abs(m.Low-net(-2*sigma)) > m.Tolerance || m.Agrees {
		t.Errorf("got %+v, want a lower end of %.2f dB that linear propagation misses", m, net(-2*sigma))
	}
	// Two standard deviations of the floor exceed the reading: the leakage may be none at all.
	if m.High != verify.Most {
		t.Errorf("got an upper end of %.2f dB, want none", m.High)
	}
	d := r.Decisions[0]
	if d.Low != m.Low || d.High != m.High || math.Abs(d.GuardBand-(d.Measured-m.Low)) > 1e-9 && d.Margin > 0 {
		t.Errorf("the decision %+v does not rest on the Monte Carlo interval %+v", d.Decision, m)
	}
	found := false
	for _, c := range r.Cautions {
		found = found || strings.Contains(c, "JCGM 101")
	}
	if !found {
		t.Errorf("no caution among %q", r.Cautions)
	}
	if d.Outcome == document.Fail {
		t.Errorf("failed by an interval that reaches to %g dB", d.High)
	}
}

// TestAtLeastConformance: a reading that only bounds the isolation keeps a limit at its bound with 95 %, one-sided, and
// a lower limit with more.
func TestAtLeastConformance(t *testing.T) {
	s := scenario(good(), other)
	s.Budget.Floor.Level = quantity.Of(38, "dB")
	s.Readings.Rows = slices.DeleteFunc(s.Readings.Rows, func(r verify.Reading) bool {
		return math.Abs(float64(r.Wavelength)-1550e-9) > 1e-9 || math.Abs(r.Temperature.Celsius()-23) > 1
	})
	s.Limits = s.Limits[:1:1]
	s.Limits[0].Low, s.Limits[0].High = 1549*quantity.Nanometre, 1551*quantity.Nanometre
	d := run(t, s).Decisions[0]
	if !d.AtLeast {
		t.Fatalf("got %+v, want a bound", d)
	}
	s.Limits[0].Value = d.Measured
	if d = run(t, s).Decisions[0]; math.Abs(d.Conformance-0.95) > 1e-4 {
		t.Errorf("at the bound: got %g, want 0.95", d.Conformance)
	}
	s.Limits[0].Value -= 1
	if d = run(t, s).Decisions[0]; !(d.Conformance > 0.96 && d.Conformance < 1) {
		t.Errorf("1 dB below the bound: got %g", d.Conformance)
	}
}

// TestGuardOfLimit: the rule of each limit is the one that decides it.
func TestGuardOfLimit(t *testing.T) {
	s := scenario(good(), other)
	r := run(t, s)
	measured, expanded := r.Decisions[0].Measured, r.Decisions[0].Expanded
	for _, c := range []struct {
		guard float64
		want  document.Outcome
	}{{0, document.Pass}, {1, document.Undecided}, {0.25, document.Pass}} {
		s.Limits = s.Limits[:1:1]
		s.Limits[0].Value = measured - expanded/2
		s.Limits[0].Rule = &limits.Rule{Guard: c.guard}
		d := run(t, s).Decisions[0]
		if d.Outcome != c.want || d.Rule.Guard != c.guard {
			t.Errorf("guard factor %g: got %v by %v, want %v", c.guard, d.Outcome, d.Rule, c.want)
		}
	}
}
