package decide

import (
	"math"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/readings"
)

// evidence is that of three readings of insertion loss and PDL with an uncertainty of their own, in dB, and one that
// they share.
func evidence(own, common float64, limit limits.Limit) *Evidence {
	nan := math.NaN()
	r := readings.Readings{Polarization: readings.MinMax}
	for k, pdl := range []float64{0.05, 0.12, 0.08} {
		r.Rows = append(r.Rows, readings.Reading{Line: 5 + k, Wavelength: quantity.Length(1549+k) * quantity.Nanometre,
			Temperature: quantity.Celsius(23), Isolation: nan, InsertionLoss: 0.40 + 0.01*float64(k), PDL: pdl,
			UIsolation: nan, ULoss: nan, UPDL: nan})
	}
	set := readings.NewSet(r, nil)
	term := func(name string, u float64, shared uncertainty.Shared) readings.Term {
		return readings.Term{Name: name, Value: quantity.Of(u, "dB"), Distribution: uncertainty.Normal, Divisor: 1,
			Standard: u, Shared: shared, U: []float64{u, u, u}}
	}
	terms := []readings.Term{term("repeatability", own, uncertainty.ByPoint),
		term("power_meter", common, uncertainty.ByAll)}
	m := readings.NewMeasurement(set, uncertainty.Budget{}, terms, nil)
	return &Evidence{Measurement: m, Best: Best{Values: []float64{0.40, 0.41, 0.42}}, Limits: limits.Limits{limit},
		LossAt: 1550 * quantity.Nanometre, MaxGap: 2 * quantity.Nanometre}
}

// A PDL is the difference of two readings of power: an error of each reading counts twice, u = root 2 times its
// standard uncertainty, and what both share cancels (JCGM 100:2008, equation 16, with correlations of 0 and 1).
func TestBudgetOfPDL(t *testing.T) {
	limit := limits.Limit{Quantity: limits.PDL, Value: 0.3, Low: 1549 * quantity.Nanometre,
		High:           1551 * quantity.Nanometre,
		TemperatureLow: quantity.Celsius(23), TemperatureHigh: quantity.Celsius(23)}
	e := evidence(0.02, 0.05, limit)
	worst := e.deciding(limit, e.candidates(limit))
	if worst.line != 6 || worst.value != 0.12 {
		t.Errorf("%g dB in line %d; want 0.12 dB in line 6", worst.value, worst.line)
	}
	b := e.budgetOf(limit, &band{candidate: worst})
	const own = 0.02
	if want := math.Hypot(own, own); math.Abs(b.Standard-want) > 1e-12 || len(b.Lines) != 1 {
		t.Errorf("standard uncertainty %g dB of %d lines, want %g of one", b.Standard, len(b.Lines), want)
	}
}

// The worst of several readings of loss has the uncertainty of one of them, what they share included (JCGM 100:2008,
// 5.1.2).
func TestBudgetOfLoss(t *testing.T) {
	limit := limits.Limit{Quantity: limits.InsertionLoss, Value: 0.6, Low: 1549 * quantity.Nanometre,
		High: 1551 * quantity.Nanometre, TemperatureLow: quantity.Celsius(23), TemperatureHigh: quantity.Celsius(23)}
	e := evidence(0.03, 0.04, limit)
	worst := e.deciding(limit, e.candidates(limit))
	if math.Abs(worst.value-0.42) > 1e-12 || worst.line != 7 {
		t.Errorf("%g dB in line %d, want 0.42 dB in line 7", worst.value, worst.line)
	}
	if b := e.budgetOf(limit, &band{candidate: worst}); math.Abs(b.Standard-0.05) > 1e-12 {
		t.Errorf("standard uncertainty %g dB, want 0.05", b.Standard)
	}
}
