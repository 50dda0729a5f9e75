package verify_test

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/verify"
)

// TestSmoothedStatistic: of 401 readings with 0.1 dB of noise the raw extreme is off by 0.297 dB, the mean of the greatest
// of 401 standard normal variables being 2.97 (Blom's approximation, Statistical Estimates and Transformed Beta-Variables,
// 1958: Phi^-1((n - 0.375)/(n + 0.25)) = 2.95, exact to 1 %). Smoothing takes most of that off, and what is left is as stated.
func TestSmoothedStatistic(t *testing.T) {
	spec := func(seed uint64) verify.Spec {
		in := instrument{step: 0.2, temperatures: []float64{23}, noise: 0.1, seed: seed}
		unit := good()
		s := scenario(unit, in)
		s.Budget.Contributions = s.Budget.Contributions[:1] // repeatability
		loss := band(0.8, 23, 23)
		loss.Quantity, loss.AtLeast, loss.Low, loss.High = limits.InsertionLoss, false, 1500*quantity.Nanometre, 1580*quantity.Nanometre
		s.Limits, s.Fit, s.Tolerances = limits.Limits{loss}, nil, nil
		for i := range s.Readings.Rows {
			s.Readings.Rows[i].PDL = math.NaN()
		}
		return s
	}
	raw := run(t, spec(1)).Decisions[0]
	if raw.Count != 401 || math.Abs(raw.Bias-0.297) > 0.005 || !strings.HasPrefix(raw.Statistic, "raw maximum") {
		t.Errorf("%s: bias %.3f dB, want 0.297", raw.Statistic, raw.Bias)
	}
	const seeds = 60
	sum, squares := 0.0, 0.0
	var d verify.Decision
	for seed := range uint64(seeds) {
		s := spec(seed)
		s.Smooth = 2.5 * quantity.Nanometre
		d = run(t, s).Decisions[0]
		off := d.Measured - d.Correction - good().loss
		sum, squares = sum+off, squares+off*off
	}
	mean := sum / seeds
	scatter := math.Sqrt((squares/seeds - mean*mean) / seeds)
	// What the light in the wrong polarization takes from the forward loss is below a thousandth of a dB.
	if math.Abs(mean-d.Bias) > 4*scatter+0.005 {
		t.Errorf("%s: %.3f ± %.3f dB above the truth, and %.3f dB is stated", d.Statistic, mean, scatter, d.Bias)
	}
	if !(d.Bias < raw.Bias/3) || !strings.Contains(d.Statistic, "smoothed by parabolas over 2.5 nm") {
		t.Errorf("%s: bias %.3f dB", d.Statistic, d.Bias)
	}
	// Of 25 readings a parabola leaves 3/2 of what their mean would: 0.1 dB * 1.5 / 5.
	if want := 0.03; math.Abs(d.Standard-want) > 0.003 {
		t.Errorf("standard uncertainty %.4f dB, want %.3f", d.Standard, want)
	}
}
