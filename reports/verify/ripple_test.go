package verify_test

import (
	"context"
	"testing"

	"wedgework/reports/limits"
	"wedgework/reports/verify"
)

// The PDL and the DGD over a band hold the ripple of double reflections, which a step of 2 nm averages out of the
// delays and noise hides in the PDLs: units 75 and 211 have more DGD than their readings show, unit 195 more PDL. Unit
// 162 reads no PDL at all, from four launch states: an interval from nothing to nothing would pass any limit.
func TestBandHoldsRipple(t *testing.T) {
	for _, c := range []struct {
		unit int
		of   limits.Quantity
	}{{75, limits.DGD}, {211, limits.DGD}, {195, limits.PDL}, {162, limits.PDL}} {
		u := nearUnit(c.unit)
		s, of, err := u.spec(t)
		if err != nil {
			t.Fatal(err)
		}
		r, err := verify.Run(context.Background(), s)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range r.Decisions {
			if q := d.Limit.Quantity; q == c.of && !(d.Low <= of.worst[q] && of.worst[q] <= d.High) {
				t.Errorf("unit %d: the %s over the band is %.5f, outside %.5f to %.5f", c.unit, q, of.worst[q], d.Low, d.High)
			}
		}
	}
}
