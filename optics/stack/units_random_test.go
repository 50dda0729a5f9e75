package stack

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/program"
	"wedgework/optics/quantity"
)

// programmable draws a random stack as the tracer's test does until it is one that a program covers, and makes it
// ready: with its faces coated evenly and wide enough, some of its numbers varying by a little, held or realigned.
func programmable(t testing.TB, rng *rand.Rand) (s *Stack, u *Units, paths []string, sigma []float64, held bool) {
	for {
		drawn := randomStack(t, rng)
		if drawn == nil {
			continue
		}
		spec := drawn.Spec()
		coated := func(c element.Coating) element.Coating {
			if rng.IntN(2) == 0 {
				return element.Coating{}
			}
			return element.Coating{Reflectance: 0.002 * rng.Float64()}
		}
		for i, e := range spec.Elements {
			switch e := e.(type) {
			case element.Wedge:
				e.Coating, e.Aperture = coated(e.Coating), 0
				spec.Elements[i] = e
			case element.Plate:
				e.Coating, e.Aperture = coated(e.Coating), 0
				spec.Elements[i] = e
			case element.Retarder:
				e.Coating = coated(e.Coating)
				spec.Elements[i] = e
			case element.Rotator:
				e.Coating = coated(e.Coating)
				spec.Elements[i] = e
			}
		}
		s, err := New(spec)
		if err != nil {
			continue
		}
		s, held = s.WithGhosts([]Ghosts{GhostsIncoherent, GhostsNone}[rng.IntN(2)]), rng.IntN(2) == 0
		paths, sigma = nil, nil
		var displaced []float64
		for _, p := range s.Parameters() {
			_, name, _ := strings.Cut(p.Path, ".")
			spread := map[string]float64{"axis": 0.3 * deg, "apex": 0.05 * deg, "angle": 0.4 * deg,
				"azimuth": 0.3 * deg, "thickness": 5e-6, "length": 10e-6, "cut": 0.2 * deg, "roll": 0.2 * deg,
				"tilt": 0.1 * deg}[name]
			if kind := strings.TrimRight(p.Path[:strings.Index(p.Path, ".")], "0123456789"); spread == 0 ||
				kind == "retarder" || kind == "polarizer" || rng.IntN(3) == 0 {
				continue
			}
			paths, sigma = append(paths, p.Path), append(sigma, spread)
			displaced = append(displaced, p.Value.SI()+spread)
		}
		c := Condition{quantity.Length(1530e-9 + 40e-9*rng.Float64()),
			room + quantity.Temperature(60*rng.Float64()-30)}
		u, err = s.Units(paths, displaced, []Condition{c}, held, program.Asked{Backward: true})
		if err == nil {
			return s, u, paths, sigma, held
		}
	}
}

// Random stacks of every kind of part that a program covers, with random units of each, against the tracer: the light
// forward as a share of what is launched, and the amplitude of what comes back. Most of what they differ by in such
// stacks, whose paths part by a beam's width, is the tracer's own: light forward and backward through a stack without
// films differs there by as much, where it must not (TestReciprocityOfRandomStacks). Stacks whose paths part in
// alignment are the tracer's.
func TestUnitsOfRandomStacks(t *testing.T) {
	stacks := 60
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		stacks = 100_000
	}
	const batch = 500
	for n := 0; n < stacks; n += batch {
		t.Run(strconv.Itoa(n), func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(11, uint64(n)))
			var forward, backward float64
			units, left := 0, 0
			for range min(batch, stacks-n) {
				s, u, paths, sigma, held := programmable(t, rng)
				b, err := u.Batch()
				if err != nil {
					t.Fatal(err)
				}
				draw(b, u, sigma, rng)
				c := u.conditions[u.own]
				b.Run(3, func(_ int, p *program.Passed) bool {
					for i := range 3 {
						units++
						if b.Left(i) {
							left++
							continue
						}
						a := line{held: held}.traced(t, s, b, paths, i)
						f, err := a.At(Forward, c.Wavelength, c.Temperature)
						if err != nil {
							t.Fatal(err)
						}
						k, err := a.At(Backward, c.Wavelength, c.Temperature)
						if err != nil {
							t.Fatal(err)
						}
						off := max(math.Abs(f.T1-p.Forward.T1[i]), math.Abs(f.T2-p.Forward.T2[i]))
						back := math.Abs(math.Sqrt(k.T1) - math.Sqrt(p.Backward.T1[i]))
						forward, backward = max(forward, off), max(backward, back)
						if off > 5e-4 || back > 1e-3 {
							t.Errorf("%s (%v, held %v): unit %d is off by %.2g forward, by %.2g in amplitude backward",
								kinds(s), paths, held, i, off, back)
						}
					}
					return true
				})
			}
			t.Logf("%d units, %d left to the tracer: off by %.2g forward, %.2g backward", units, left, forward,
				backward)
		})
	}
}

// A unit is the same to the bit wherever it stands among others, and a batch allocates nothing.
func TestUnitsDoNotKnowEachOther(t *testing.T) {
	for _, l := range lines() {
		_, u, _, sigma := l.units(t)
		b, err := u.Batch()
		if err != nil {
			t.Fatal(err)
		}
		draw(b, u, sigma, rand.New(rand.NewPCG(5, 6)))
		drawn := make([]program.Lane, len(sigma))
		copy(drawn, b.Values)
		var all, one program.Passed
		b.Run(program.Width, func(_ int, p *program.Passed) bool { all = *p; return true })
		for _, i := range []int{0, 7, program.Width - 1} {
			for k := range drawn {
				b.Values[k][0] = drawn[k][i]
			}
			b.Run(1, func(_ int, p *program.Passed) bool { one = *p; return true })
			if one.Forward.T1[0] != all.Forward.T1[i] || one.Forward.T2[0] != all.Forward.T2[i] ||
				one.Backward.T1[0] != all.Backward.T1[i] || one.DGD[0] != all.DGD[i] {
				t.Errorf("%s: unit %d alone differs from the same among others", l.name, i)
			}
		}
		take := func(int, *program.Passed) bool { return true }
		if n := testing.AllocsPerRun(3, func() { b.Run(program.Width, take) }); n > 0 {
			t.Errorf("%s: %g allocations", l.name, n)
		}
	}
}

// The bound that paths are dropped by: no path of a random stack brings more than exp(-(k w angle)^2/4) of the power
// that it carries, whatever its offset and the distance it has come.
func TestTiltBoundsOverlap(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	paths, near := 0, 0
	for range 300 {
		s := randomStack(t, rng)
		if s == nil {
			continue
		}
		k := 2 * math.Pi / at * float64(s.spec.Beam.Waist)
		all, err := s.Paths(Forward, at, room)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range all {
			if math.IsInf(p.Sent, 1) || p.Power > 2000 { // dB: near the least number there is
				continue
			}
			paths++
			least := k * k * p.Tilt.Dot(p.Tilt) / 4 * 10 * math.Log10E
			if lost := p.Power - p.Sent; lost < least*(1-1e-9)-1e-6 {
				t.Errorf("%s of %s loses %.6g dB at %.4g rad, at least %.6g", p.Label, kinds(s), lost,
					math.Sqrt(p.Tilt.Dot(p.Tilt)), least)
			} else if lost < 2*least+0.1 {
				near++
			}
		}
	}
	if paths < 1000 || near < 100 {
		t.Errorf("%d paths, %d of them within twice the bound: too few to tell", paths, near)
	}
}
