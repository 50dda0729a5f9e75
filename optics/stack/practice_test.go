package stack

import (
	"math"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// demo is the design of the demo notebook, whose film has the slopes of its trade: -0.07 deg/nm and -0.06 deg/K.
func demo(t testing.TB, extinction float64) *Stack {
	t.Helper()
	d := plain
	d.extinction = extinction
	spec := d.spec(t)
	r := spec.Elements[2].(element.Rotator)
	r.Garnet.PerMetre, r.Garnet.PerKelvin = -0.07*deg*1e9, -0.06*deg
	r.Garnet.Absorption = 0.59 * 100
	spec.Elements[2] = r
	s, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// What comes out of the demo design unforced, as the trade knows it (common practice, no source): the isolation that a
// film of -0.07 deg/nm leaves off its peak, the cap of a finite extinction ratio, the loss, the delay of YVO4, and the
// shift of the peak by -0.06/0.07 nm/K. Isolation counts the whole backward loss: the forward loss, a tenth of a dB
// here, is taken off before it is compared with sin^2.
func TestCommonPractice(t *testing.T) {
	s := demo(t, math.Inf(1))
	at := func(d Direction, nm, celsius float64) Point {
		p, err := s.At(d, quantity.Length(nm)*quantity.Nanometre, quantity.Celsius(celsius))
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	loss := at(Forward, 1550, 23).InsertionLoss()
	for _, c := range []struct{ nm, want float64 }{{1565, 34.7}, {1535, 34.7}, {1576, 30.0}, {1524, 30.0}} {
		if got := at(Backward, c.nm, 23).Isolation() - loss; math.Abs(got-c.want) > 0.15 {
			t.Errorf("isolation at %g nm: %.2f dB, want %.1f", c.nm, got, c.want)
		}
	}
	if loss < 0.1 || loss > 0.5 {
		t.Errorf("insertion loss %.3f dB, want 0.1 to 0.5", loss)
	}
	if got := at(Forward, 1550, 23).DGD() * 1e12; math.Abs(got-0.70) > 0.01 { // 1 mm of YVO4 in all
		t.Errorf("DGD %.3f ps of 1 mm of YVO4, want 0.70", got)
	}
	peak := func(celsius float64) float64 {
		best, most := 0.0, 0.0
		for nm := 1500.0; nm <= 1590; nm += 0.1 {
			if p := at(Backward, nm, celsius).Isolation(); p > most {
				best, most = nm, p
			}
		}
		return best
	}
	if slope := (peak(50) - peak(0)) / 50; math.Abs(slope+0.06/0.07) > 0.01 {
		t.Errorf("the peak moves %.3f nm/K, want -0.86", slope)
	}
	capped := demo(t, 1e4)
	p, err := capped.At(Backward, 1550e-9, room)
	if err != nil {
		t.Fatal(err)
	}
	if got := p.Isolation() - loss; math.Abs(got-40) > 0.05 {
		t.Errorf("an extinction ratio of 40 dB caps the peak at %.2f dB", got)
	}
}
