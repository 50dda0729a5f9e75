package verify_test

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/verify"
)

// TestFringesAreNotSmoothedAway: fringes of +/-1.5 dB that nobody stated, of several periods, under a limit 0.6 dB
// above the least isolation that they leave. With smooth=5 nm the mean of them passed, as 36.66 +/- 0.03 dB of 35.43
// dB. The interval holds the least isolation of the fringes themselves, no limit is met that they break, and the
// quality of the data fails where fringes are finer than the curve may follow. A fringe of which there are but two
// readings, always its zeros, no bench can see.
func TestFringesAreNotSmoothedAway(t *testing.T) {
	for _, c := range []struct{ period, step float64 }{{0.4, 0.1}, {1, 0.1}, {1, 0.25}, {2.5, 0.25}} {
		unit := good()
		unit.extinction, unit.angle = 36.93, 45
		s := scenario(unit, instrument{step: c.step, temperatures: []float64{23}, noise: 0.02, seed: 3})
		s.Model, s.Fit, s.Tolerances = unit, nil, nil
		s.Smooth = 5 * quantity.Nanometre
		fringes := func(nm float64) float64 { return 1.5 * math.Sin(2*math.Pi*nm/c.period) }
		each(&s, func(r *verify.Reading) { iso(r).Value += fringes(float64(r.Wavelength) * 1e9) })
		least := math.Inf(1)
		for nm := 1549.0; nm <= 1556; nm += 0.01 {
			least = min(least, -10*math.Log10(unit.at(verify.Backward, nm, 23).T1)+fringes(nm))
		}
		l := band(least+0.6, 23, 23)
		l.Low, l.High = 1549*quantity.Nanometre, 1556*quantity.Nanometre
		s.Limits = limits.Limits{l}
		r := run(t, s)
		d := r.Decisions[0]
		if d.Outcome == document.Pass || d.Low > least || d.High < least {
			t.Errorf("fringes of %g nm, every %g nm: %v, %.2f dB (%.2f to %.2f dB), truly %.2f dB", c.period, c.step,
				d.Outcome, d.Measured, d.Low, d.High, least)
		}
		if r.Quality.Outcome != document.Fail || !strings.Contains(r.Quality.Sentence, "times as much as stated") {
			t.Errorf("fringes of %g nm, every %g nm: quality %v, %s", c.period, c.step, r.Quality.Outcome,
				r.Quality.Sentence)
		}
	}
}
