package decide

import (
	"math"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/readings"
)

// evidence is that of three readings of insertion loss with an uncertainty of their own, in dB, and one that they
// share.
func evidence(own, common float64, limit limits.Limit) *Evidence {
	r := readings.Readings{Polarization: readings.MinMax}
	for k := range 3 {
		r.Rows = append(r.Rows, readings.Reading{Line: 5 + k, Wavelength: quantity.Length(1549+k) * quantity.Nanometre,
			Temperature: quantity.Celsius(23), Figures: []readings.Figure{
				readings.NewFigure(limits.InsertionLoss, 0.40+0.01*float64(k))}})
	}
	set := readings.NewSet(r, uncertainty.Budget{})
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

// The least of three equal isolations with a noise of 0.5 dB each is expected 3/(2 sqrt(pi)) standard deviations below
// them (the mean of the least of three normal values; H. A. David and H. N. Nagaraja, Order Statistics, Wiley 2003,
// 3.2), and one wild reading among them, whose noise is large because its power is, does not make it more.
func TestMinimumBias(t *testing.T) {
	bias := func(levels ...float64) float64 {
		r := readings.Readings{Polarization: readings.MinMax}
		noise := readings.Term{Name: "repeatability", Distribution: uncertainty.Normal, Divisor: 1,
			Shared: uncertainty.ByPoint}
		var best []float64
		for k, level := range levels {
			r.Rows = append(r.Rows, readings.Reading{Line: 5 + k, Wavelength: quantity.Length(1549+k) * quantity.Nanometre,
				Temperature: quantity.Celsius(23), Figures: []readings.Figure{readings.NewFigure(limits.Isolation, level)}})
			noise.U = append(noise.U, 0.5*readings.PerDecibel*quantity.Ratio(-level))
			best = append(best, quantity.Ratio(-30))
		}
		m := readings.NewMeasurement(readings.NewSet(r, uncertainty.Budget{}), uncertainty.Budget{}, []readings.Term{noise},
			nil)
		e := &Evidence{Measurement: m, Best: Best{Values: best}}
		return e.minimumBias(readings.UpTo(len(levels)))
	}
	want := -0.5 * 3 / (2 * math.Sqrt(math.Pi))
	if got := bias(30, 30, 30); math.Abs(got-want) > 0.005 {
		t.Errorf("three equal readings: %.4f dB, want %.4f", got, want)
	}
	if got := bias(30, 30, 0); math.Abs(got-want) > 0.005 {
		t.Errorf("one of them at 0 dB: %.4f dB, want %.4f", got, want)
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
