package stack

import (
	"math"
	"math/rand/v2"
	"testing"

	"wedgework/optics/program"
	"wedgework/optics/quantity"
)

// What follows between the nodes of a band against the same units traced at each of its wavelengths, a few at a time so
// that there is no band. Most of what they differ by is how near each path's own ray is found at each wavelength (held
// receivers: 2e-5 dB); where that ray is exact, the difference is 1e-10 dB.
func TestBandAgainstPoints(t *testing.T) {
	var all []Condition
	for _, t := range []quantity.Temperature{room - 30, room} {
		for k := range 31 {
			all = append(all, Condition{quantity.Length(1535+k) * quantity.Nanometre, t})
		}
	}
	for _, l := range lines() {
		t.Run(l.name, func(t *testing.T) {
			_, u, _, sigma := l.units(t, all...)
			b, err := u.Batch()
			if err != nil {
				t.Fatal(err)
			}
			draw(b, u, sigma, rand.New(rand.NewPCG(7, 8)))
			between := make([]program.Passed, len(all))
			b.Run(program.Width, func(k int, p *program.Passed) bool { between[k] = *p; return true })
			if len(u.bands) != 2 {
				t.Fatalf("%d bands, want 2", len(u.bands))
			}
			var worst off
			doubt, left := 0.0, 0
			for i := range program.Width {
				if doubt = max(doubt, b.machine.Doubt[i]); b.Left(i) {
					left++
				}
			}
			for from := 0; from < len(all); from += program.FewestNodes {
				few := all[from:min(from+program.FewestNodes, len(all))]
				_, v, _, _ := l.units(t, few...)
				c, err := v.Batch()
				if err != nil {
					t.Fatal(err)
				}
				copy(c.Values, b.Values)
				c.Run(program.Width, func(k int, p *program.Passed) bool {
					worst.among(b, p, &between[from+k])
					return true
				})
			}
			t.Logf("%d nodes, %d units left, doubt %.2g: loss %.2g dB, isolation %.2g dB, DGD %.2g s",
				len(u.bands[0].nodes), left, doubt, worst.loss, worst.isolation, worst.dgd)
			if !(worst.loss <= 4e-5 && worst.isolation <= 3e-4 && worst.dgd < 1e-18) {
				t.Errorf("off by %.2g dB in loss, %.2g dB in isolation, %.2g s in DGD", worst.loss, worst.isolation,
					worst.dgd)
			}
			if left > program.Width/8 {
				t.Errorf("%d of %d units are left to the tracer", left, program.Width)
			}
		})
	}
}

// among counts how far two evaluations of the units of a batch are apart.
func (o *off) among(b *Batch, p, q *program.Passed) {
	dB := func(x, y float64) float64 { return math.Abs(10 * math.Log10(x/y)) }
	for i := range program.Width {
		if b.Left(i) {
			continue
		}
		o.loss = max(o.loss, dB(p.Forward.T1[i], q.Forward.T1[i]), dB(p.Forward.T2[i], q.Forward.T2[i]))
		if p.Backward.T1[i] > 1e-6 {
			o.isolation = max(o.isolation, dB(p.Backward.T1[i], q.Backward.T1[i]))
		}
		o.dgd = max(o.dgd, math.Abs(p.DGD[i]-q.DGD[i]))
	}
}
