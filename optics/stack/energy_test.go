package stack

import (
	"math"
	"math/rand/v2"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// What returns plus what passes is at most what was launched, for every state of polarization and either port: the
// greatest eigenvalue of the sum of the two matrices of power. Random stacks of every part with up to two films, with
// the fibre ends and lens faces of the collimators, with double bounces in power and without. Their reflections are
// added in power; one that bounces more often would only take from both.
func TestWhatReturnsAndWhatPasses(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 1))
	most, films := 0.0, [wayBack + 1]int{}
	for done := 0; done < 120; {
		s := randomStack(t, rng)
		if s == nil {
			continue
		}
		done++
		spec := s.Spec()
		spec.Beam.Fibre, spec.Beam.Ferrule = element.Fibre{ModeRadius: 5.2e-6},
			quantity.Angle(float64(rng.IntN(2))*8*deg)
		spec.Beam.FerruleReflectance, spec.Beam.FacetReflectance = 0.1*rng.Float64(), 0.1*rng.Float64()
		spec.Beam.ReturnFloor = 200
		ended, err := New(spec)
		if err != nil {
			t.Fatal(err)
		}
		films[len(tuned(t, ended).films)]++
		for _, ghosts := range []Ghosts{GhostsNone, GhostsIncoherent} {
			ended = ended.WithGhosts(ghosts)
			for _, d := range []Direction{Forward, Backward} {
				p := point(t, ended, d)
				var back returned
				if err := ended.WithGhosts(GhostsNone).traced(d, at, room, func(q *tracer) {
					back = q.returned(ended, d, at, math.Inf(1))
				}); err != nil {
					t.Fatal(err)
				}
				all := p.H
				for _, h := range []polar.Gram{back.together, back.farLens, back.farFerrule,
					{XX: back.ferrule + back.lens, YY: back.ferrule + back.lens}} {
					all.AddGram(h)
				}
				t1, _ := all.Extremes()
				most = max(most, t1)
				if t1 > 1+1e-9 {
					t.Fatalf("%s, ghosts %d, %d films: %.6f of the power passes or returns\n%s", d, ghosts, len(tuned(t,
						ended).films), t1, kinds(ended))
				}
			}
		}
	}
	t.Logf("at most %.4f; stacks with 0, 1, 2 films: %v", most, films)
	if films[0] < 30 || films[1] < 20 || films[2] < 4 {
		t.Errorf("stacks with 0, 1 and 2 films: %v, too few to tell", films)
	}
}

// tuned is a stack laid out and tuned for the tests' wavelength and temperature.
func tuned(t testing.TB, s *Stack) *course {
	t.Helper()
	c := s.lay(room)
	if err := c.tune(at); err != nil {
		t.Fatal(err)
	}
	return c
}

// The whole of the light: what arrives at the receiver's plane (transmitted, whether the fibre takes it up or not),
// what each face has sent back the first time, what films absorb and what polarizers block come to one, path by path
// and averaged over polarization. The ledger is kept from what the paths of the readable sum carry before and behind
// each face, and the tracer is held to its arrivals.
func TestLedgerOfTheLight(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 2))
	worst, absorbing, blocking := 0.0, 0, 0
	for done := 0; done < 400; {
		s := randomStack(t, rng)
		if s == nil {
			continue
		}
		done++
		spec := s.Spec()
		for i, e := range spec.Elements {
			if r, ok := e.(element.Rotator); ok {
				r.Garnet.Absorption = 500 * rng.Float64() // up to a tenth of the power
				spec.Elements[i] = r
			}
		}
		s, err := New(spec)
		if err != nil {
			t.Fatal(err)
		}
		c := tuned(t, s.WithGhosts(GhostsNone))
		for _, d := range []Direction{Forward, Backward} {
			l := newLedger(s, c, d)
			if l.absorbed > 1e-3 {
				absorbing++
			}
			if l.blocked > 1e-3 {
				blocking++
			}
			worst = max(worst, math.Abs(l.sum()-1))
			arrived := 0.0
			ps, err := s.WithGhosts(GhostsNone).Paths(d, at, room)
			if err != nil {
				t.Fatal(err)
			}
			collected := 0.0
			for _, p := range ps {
				arrived += quantity.Ratio(-p.Sent)
				collected += quantity.Ratio(-p.Power)
			}
			if math.Abs(arrived-l.transmitted) > 1e-12 {
				t.Fatalf("%s: the tracer's paths carry %.15g, the ledger's %.15g\n%s", d, arrived, l.transmitted,
					kinds(s))
			}
			if collected > arrived+1e-12 {
				t.Errorf("%s: %.6g is collected of %.6g that arrives", d, collected, arrived)
			}
		}
	}
	t.Logf("transmitted, returned, absorbed and blocked come to one within %.2g", worst)
	if worst > 1e-11 { // that of the scattering at single faces with layers (package face)
		t.Errorf("transmitted, returned, absorbed and blocked are %.3g off one", worst)
	}
	if absorbing < 100 || blocking < 100 {
		t.Errorf("%d stacks absorb and %d block: too few to tell", absorbing, blocking)
	}
}

// ledger is where the power launched has gone, averaged over polarization.
type ledger struct{ transmitted, returned, absorbed, blocked float64 }

func (l ledger) sum() float64 { return l.transmitted + l.returned + l.absorbed + l.blocked }

func newLedger(s *Stack, c *course, d Direction) (l ledger) {
	walk := s.shoot(c, d, at, s.poseAt(c.at), nil)
	walk.ghosts = false
	carried := func(p *path, in *element.Medium) float64 {
		sum := 0.0
		for m := range walk.modes {
			if uint8(m)&^p.films != 0 {
				continue // a copy of a mode that counts
			}
			for k := range 2 {
				if in.Crystal != nil {
					sum += power(p.inner[m][k])
				} else {
					sum += p.field[m][k].power()
				}
			}
		}
		return sum / 2
	}
	walk.visit = func(p *path) {
		left := math.Exp(-2 * p.loss)
		l.transmitted += carried(p, &outside) * left
	}
	walk.met = func(p *path, i int, in *element.Medium) {
		before := carried(p, in)
		left := math.Exp(-2 * p.loss)
		if in.Dichroic != nil {
			met := *p
			walk.absorb(&met, in.Dichroic)
			l.blocked += (before - carried(&met, in)) * left
			p, before = &met, carried(&met, in)
		}
		sent := 0.0 // back
		if c.faces[i].Reflects() {
			walk.reflect(p, i, in, func(q *path) { sent += carried(q, in) })
		}
		l.returned += sent * left
		if sheet := c.faces[i].Sheet; sheet != nil {
			passed := *p
			for m := range walk.modes {
				for k := range 2 {
					passed.field[m][k] = p.field[m][k].filter(sheet, p.wave.N)
				}
			}
			l.blocked += (before - carried(&passed, in)) * left
		}
		l.absorbed += before * (math.Exp(-2*p.lost) - left) // in the medium before the face
	}
	walk.along(walk.chief())
	return l
}
