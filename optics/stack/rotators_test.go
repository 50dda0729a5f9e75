package stack

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// manyRotators is a stack of two wedges with films around and between them, of which some depolarize.
func manyRotators(t *testing.T, rng *rand.Rand, depolarizing, perfect int) (*Stack, error) {
	t.Helper()
	spec := plain.spec(t)
	film := spec.Elements[2].(element.Rotator)
	var parts []element.Element
	add := func(e element.Element) { parts = append(parts, e, element.Gap{Length: 0.1e-3}) }
	total := depolarizing + perfect
	for i := range total {
		switch i {
		case total / 3:
			add(spec.Elements[0])
		case 2 * total / 3:
			add(spec.Elements[4])
		}
		f := film
		f.Angle = quantity.Angle(math.Pi * (rng.Float64() - 0.5))
		f.Coating = element.Coating{Reflectance: 0.003 * rng.Float64()}
		f.Garnet.Extinction = math.Inf(1)
		if i%2 == 0 && depolarizing > 0 || perfect == 0 {
			f.Garnet.Extinction = math.Pow(10, 1+3*rng.Float64())
			depolarizing--
		} else {
			perfect--
		}
		add(f)
	}
	return New(Spec{Elements: parts, Beam: element.Collimator{Waist: 200e-6, WorkingDistance: 20e-3}, AlignAt: at,
		AlignTemperature: room})
}

// Stacks of more than two rotators: the tracer against the path sum, with and without double bounces.
func TestManyRotators(t *testing.T) {
	rng := rand.New(rand.NewPCG(20, 4))
	q := new(tracer)
	for _, n := range [][2]int{{3, 0}, {4, 0}, {4, 4}, {0, 9}} {
		s, err := manyRotators(t, rng, n[0], n[1])
		if err != nil {
			t.Fatal(err)
		}
		for _, ghosts := range []Ghosts{GhostsNone, GhostsIncoherent} {
			s.ghosts = ghosts
			c := s.lay(room)
			if err := c.tune(1540e-9); err != nil {
				t.Fatal(err)
			}
			if len(c.films) != n[0] {
				t.Fatalf("%d films depolarize, want %d", len(c.films), n[0])
			}
			for _, d := range []Direction{Forward, Backward} {
				want, got := s.evaluate(c, d, 1540e-9), q.evaluate(s, c, d, 1540e-9)
				if off := max(math.Abs(got.T1-want.T1), math.Abs(got.T2-want.T2)); !(off < 1e-9*want.T1) {
					t.Errorf("%v rotators, ghosts %d, %s: %.12g %.12g, path sum %.12g %.12g", n, ghosts, d, got.T1, got.T2,
						want.T1, want.T2)
				}
			}
		}
	}
	if _, err := manyRotators(t, rng, 5, 0); err == nil || !strings.Contains(err.Error(), "finite extinction") {
		t.Errorf("five rotators that depolarize: %v", err)
	}
}
