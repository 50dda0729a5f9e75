package stack

import (
	"math"
	"math/rand/v2"
	"testing"

	"wedgework/optics/program"
	"wedgework/optics/quantity"
)

// line is stacks off a line: a design, how many stages it has, and what of it varies.
type line struct {
	name   string
	design design
	turn   float64 // of the second stage, deg; 0 for none
	held   bool
}

// lines are what the program is held against the tracer for.
func lines() []line {
	of := func(apex, reflectance, extinction float64) design {
		d := plain
		d.apex, d.reflectance = apex, reflectance
		if extinction > 0 {
			d.extinction = extinction
		}
		return d
	}
	return []line{
		{"13 deg", of(13, 0, 0), 0, false},
		{"13 deg, held", of(13, 0, 0), 0, true},
		{"5 deg", of(5, 0, 0), 0, false},
		{"3 deg", of(3, 0, 0), 0, false},
		{"13 deg, film", of(13, 0, 1e4), 0, false},
		{"13 deg, coated", of(13, 1e-3, 0), 0, false},
		{"5 deg, coated", of(5, 1e-3, 0), 0, false},
		{"5 deg, coated, film, held", of(5, 1e-3, 1e4), 0, true},
		{"13 deg, coated, film", of(13, 1e-3, 1e4), 0, false},
		{"two stages, 13 deg", of(13, 0, 0), -45, false},
		{"two stages, 5 deg, film", of(5, 0, 1e4), -45, false},
		{"two stages, 5 deg, coated", of(5, 1e-3, 0), -45, false},
		{"two stages, 13 deg, coated, film", of(13, 1e-3, 1e4), -45, false},
	}
}

// units makes the units of a line ready, with the standard deviations of what varies, in radians.
func (l line) units(t testing.TB, conditions ...Condition) (*Stack, *Units, []string, []float64) {
	t.Helper()
	s := l.design.stack(t)
	if l.turn != 0 {
		s = twoStage(t, l.design, l.turn)
	}
	s = s.WithGhosts(GhostsIncoherent)
	paths := []string{"wedge1.axis", "wedge2.axis", "wedge1.apex", "wedge2.apex", "rotator1.angle"}
	sigma := []float64{0.3 * deg, 0.3 * deg, 0.05 * deg, 0.05 * deg, 0.4 * deg}
	if l.turn != 0 {
		paths = append(paths, "wedge3.axis", "wedge4.axis", "wedge3.apex", "wedge4.apex", "rotator2.angle")
		sigma = append(sigma, sigma...)
	}
	displaced := make([]float64, len(paths))
	for k, p := range paths {
		v, err := s.Parameter(p)
		if err != nil {
			t.Fatal(err)
		}
		displaced[k] = v.SI() + sigma[k]
	}
	if len(conditions) == 0 {
		conditions = []Condition{{at, room}}
	}
	u, err := s.Units(paths, displaced, conditions, l.held, program.Asked{Backward: true, DGD: true})
	if err != nil {
		t.Fatalf("%s: %v", l.name, err)
	}
	return s, u, paths, sigma
}

// draw sets a batch to random units.
func draw(b *Batch, u *Units, sigma []float64, rng *rand.Rand) {
	for i := range program.Width {
		for k := range sigma {
			b.Values[k][i] = u.values[k] + sigma[k]*rng.NormFloat64()
		}
	}
}

// traced is unit i of a batch as the tracer has it.
func (l line) traced(t testing.TB, s *Stack, b *Batch, paths []string, i int) *Stack {
	t.Helper()
	values := map[string]quantity.Quantity{}
	for k, p := range paths {
		v, err := s.Parameter(p)
		if err != nil {
			t.Fatal(err)
		}
		values[p] = quantity.FromSI(b.Values[k][i], v.Unit)
	}
	a, err := s.Adjusted(values)
	if err != nil {
		t.Fatal(err)
	}
	if l.held {
		a = a.Posed(s.Pose())
	}
	return a
}

// off is the worst difference from the tracer: in dB of loss forward (of t1 and t2), and of isolation up to 60 dB; of
// the DGD in seconds.
type off struct{ loss, isolation, dgd float64 }

func (o *off) see(a *Stack, c Condition, i int, p *program.Passed) error {
	forward, err := a.At(Forward, c.Wavelength, c.Temperature)
	if err != nil {
		return err
	}
	backward, err := a.At(Backward, c.Wavelength, c.Temperature)
	if err != nil {
		return err
	}
	dB := func(x, y float64) float64 { return math.Abs(10 * math.Log10(x/y)) }
	o.loss = max(o.loss, dB(forward.T1, p.Forward.T1[i]), dB(forward.T2, p.Forward.T2[i]))
	if backward.T1 > 1e-6 {
		o.isolation = max(o.isolation, dB(backward.T1, p.Backward.T1[i]))
	}
	o.dgd = max(o.dgd, math.Abs(forward.DGD()-p.DGD[i]))
	return nil
}

// The program against the tracer, for the units of every line. The bounds on isolation are those of double bounces
// counted by the shift and spread of their own path; the tracer traces each again along its own ray.
func TestUnitsAgainstTracer(t *testing.T) {
	for _, l := range lines() {
		t.Run(l.name, func(t *testing.T) {
			s, u, paths, sigma := l.units(t)
			b, err := u.Batch()
			if err != nil {
				t.Fatal(err)
			}
			rng := rand.New(rand.NewPCG(1, 2))
			var worst off
			left := 0
			draw(b, u, sigma, rng)
			b.Run(program.Width, func(_ int, p *program.Passed) bool {
				for i := range program.Width {
					if b.Left(i) {
						left++
						continue
					}
					if err := worst.see(l.traced(t, s, b, paths, i), Condition{at, room}, i, p); err != nil {
						t.Fatal(err)
					}
				}
				return true
			})
			n, pairs := u.Size()
			t.Logf("%d paths, %d pairs of faces, %d units left: loss %.2g dB, isolation %.2g dB, DGD %.2g s", n, pairs,
				left, worst.loss, worst.isolation, worst.dgd)
			bound := 1e-3
			if l.design.reflectance > 0 {
				bound = map[float64]float64{5: 3e-3, 13: 1e-2}[l.design.apex]
			}
			if !(worst.loss <= 4e-5 && worst.isolation <= bound && worst.dgd < 1e-17) {
				t.Errorf("off by %.2g dB in loss (at most 4e-5) and %.2g dB in isolation (at most %g)", worst.loss,
					worst.isolation, bound)
			}
			if left > program.Width/8 {
				t.Errorf("%d of %d units are left to the tracer", left, program.Width)
			}
		})
	}
}
