package verify_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/verify"
)

// TestExtremeOfABand: of 401 readings with 0.1 dB of noise the raw extreme is off by 0.297 dB, the mean of the greatest
// of 401 standard normal variables being 2.97 (Blom's approximation, Statistical Estimates and Transformed
// Beta-Variables, 1958: Phi^-1((n - 0.375)/(n + 0.25)) = 2.95, exact to 1 %). The curve through them has next to none
// of that, and its interval holds the truth.
func TestExtremeOfABand(t *testing.T) {
	spec := func(seed uint64) verify.Spec {
		in := instrument{step: 0.2, temperatures: []float64{23}, noise: 0.1, seed: seed}
		s := scenario(good(), in)
		s.Budget.Contributions = s.Budget.Contributions[:1] // repeatability
		loss := band(0.8, 23, 23)
		loss.Quantity, loss.AtLeast, loss.Low, loss.High = limits.InsertionLoss, false, 1500*quantity.Nanometre,
			1580*quantity.Nanometre
		s.Limits, s.Fit, s.Tolerances = limits.Limits{loss}, nil, nil
		for i := range s.Readings.Rows {
			pdl(&s.Readings.Rows[i]).Value = math.NaN()
		}
		return s
	}
	const seeds = 24
	for _, smooth := range []quantity.Length{0, 2.5 * quantity.Nanometre} {
		sum, held := 0.0, 0
		var d verify.Decision
		for seed := range uint64(seeds) {
			s := spec(seed)
			s.Smooth = smooth
			d = run(t, s).Decisions[0]
			off := d.Measured - d.Correction - good().loss
			sum += off
			if math.Abs(off) <= d.Expanded {
				held++
			}
		}
		// What the light in the wrong polarization takes from the forward loss is below a thousandth of a dB.
		if mean := sum / seeds; d.Count != 401 || !(math.Abs(mean) < 0.02) {
			t.Errorf("%s: %.3f dB above the truth", d.Statistic, mean)
		}
		if held < 19 { // of 24 at 95.45 %: less by chance once in a thousand
			t.Errorf("%s: the interval holds the truth in %d of %d", d.Statistic, held, seeds)
		}
		if says := strings.Contains(d.Statistic, "no finer than 2.5 nm"); says != (smooth > 0) {
			t.Errorf("smoothed over %g m: %s", float64(smooth), d.Statistic)
		}
	}
}

// TestEndsOfABand: the unit's isolation falls towards the end of the band at 1535 nm; whether or not a reading stands
// there must not decide.
func TestEndsOfABand(t *testing.T) {
	for _, c := range []struct {
		first, step float64 // nm
		want        document.Outcome
	}{
		{1535, 2, document.Undecided}, {1536, 2, document.Undecided}, {1535.5, 1, document.Undecided},
		{1536.9, 1, document.Undecided}, // not bracketed
	} {
		in := instrument{step: 0.1, temperatures: []float64{23}, noise: 0.02, seed: 3}
		unit := good()
		unit.extinction = 90
		s := scenario(unit, in)
		s.Readings.Rows = slices.DeleteFunc(s.Readings.Rows, func(r verify.Reading) bool {
			off := math.Mod(float64(r.Wavelength)*1e9-c.first+1e-6, c.step)
			return float64(r.Wavelength)*1e9 < c.first-1e-6 || float64(r.Wavelength)*1e9 > 1565+1e-6 ||
				math.Abs(off) > 1e-3
		})
		truth := math.Inf(1)
		for l := 1535.0; l <= 1565; l += 0.1 {
			truth = min(truth, -quantity.Decibels(unit.at(verify.Backward, l, 23).T1))
		}
		s.Limits = limits.Limits{band(truth+0.05, 23, 23)}
		d := run(t, s).Decisions[0]
		if d.Outcome == document.Pass {
			t.Errorf("readings from %g nm every %g nm: %.2f ± %.2f dB passes a limit of %.2f dB, which the unit "+
				"breaks by 0.05 dB",
				c.first, c.step, d.Measured, d.Expanded, truth+0.05)
		}
		if c.first < 1536.5 && !(math.Abs(d.Measured-truth) < d.Expanded) {
			t.Errorf("readings from %g nm every %g nm: %.3f ± %.3f dB, true %.3f dB", c.first, c.step, d.Measured,
				d.Expanded,
				truth)
		}
	}
}
