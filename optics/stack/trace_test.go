package stack

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"

	"wedgework/optics/element"
	"wedgework/optics/face"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/reports/require"
)

// randomStack draws a stack of one to six parts of every kind, with coated, bare and layered faces.
func randomStack(t testing.TB, rng *rand.Rand) *Stack {
	t.Helper()
	names := []string{"YVO4", "calcite", "LiNbO3", "rutile"}
	angle := func(most float64) quantity.Angle { return quantity.Angle((2*rng.Float64() - 1) * most * deg) }
	coat := func() element.Coating {
		switch rng.IntN(6) {
		case 0:
			return element.Coating{Bare: true}
		case 1:
			return element.Coating{Layers: []face.Layer{{Index: 1.38, Thickness: 280e-9}, {Index: 2.1,
				Thickness: quantity.Length(100e-9 + 200e-9*rng.Float64())}}}
		case 2:
			return element.Coating{}
		}
		return element.Coating{Reflectance: 0.01 * rng.Float64()}
	}
	var parts []element.Element
	films, crystals := 0, 0
	for range 1 + rng.IntN(6) {
		c := crystal(t, names[rng.IntN(4)])
		switch k := rng.IntN(6); {
		case k == 0 && films < wayBack:
			r := design{crystal: "YVO4", extinction: math.Pow(10,
				1+4*rng.Float64())}.spec(t).Elements[2].(element.Rotator)
			r.Angle, r.Coating = angle(90), coat()
			if rng.IntN(3) == 0 {
				r.Garnet.Extinction = math.Inf(1)
			}
			if rng.IntN(2) == 0 {
				r.Slant = element.Slant{Tilt: angle(8), Wedge: angle(1) * quantity.Angle(rng.IntN(2)),
					Azimuth: angle(180)}
			}
			parts = append(parts, r)
			films++
		case k == 1:
			p := element.Polarizer{Axis: angle(90), Extinction: math.Pow(10, 1+3*rng.Float64()), Loss: rng.Float64()}
			if rng.IntN(2) == 0 {
				p.Slab = element.Slab{Thickness: quantity.Length(0.1e-3 + 0.4e-3*rng.Float64()),
					Index: 1.4 + rng.Float64(), Coating: coat(),
					Slant: element.Slant{Tilt: angle(8) * quantity.Angle(rng.IntN(2)),
						Wedge: angle(1) * quantity.Angle(rng.IntN(2)), Azimuth: angle(180)},
					Aperture: quantity.Length(float64(rng.IntN(2)) * 300e-6)}
			}
			parts = append(parts, p)
		case k == 2 && crystals < 3:
			parts = append(parts, element.Plate{As: "displacer", Crystal: c,
				Thickness: quantity.Length(0.1e-3 + 0.5e-3*rng.Float64()), Axis: angle(180),
				Cut: 45 * deg, Tilt: angle(3) * quantity.Angle(rng.IntN(2)), Azimuth: angle(180), Coating: coat(),
				Aperture: quantity.Length(float64(rng.IntN(2)) * 300e-6)})
			crystals++
		case k == 3 && crystals < 3:
			parts = append(parts, element.Retarder{Crystal: c, Retardance: math.Pi, At: at, Order: rng.IntN(3),
				Axis: angle(180), Coating: coat()})
			crystals++
		case crystals < 3:
			side := element.Front
			if rng.IntN(2) == 0 {
				side = element.Back
			}
			parts = append(parts, element.Wedge{Crystal: c, Slanted: side, Apex: angle(8), Thickness: 0.4e-3,
				Axis:    angle(180),
				Azimuth: angle(180),
				Rise:    angle(40) * quantity.Angle(rng.IntN(2)), Coating: coat(),
				Aperture: quantity.Length(float64(rng.IntN(2)) * 400e-6)})
			crystals++
		}
		parts = append(parts, element.Gap{Length: quantity.Length(0.05e-3 + 0.3e-3*rng.Float64())})
	}
	s, err := New(Spec{Elements: parts, Beam: element.Collimator{Waist: quantity.Length(100e-6 + 200e-6*rng.Float64()),
		WorkingDistance: 15e-3},
		AlignAt: at, AlignTemperature: room})
	if err != nil {
		return nil // gaps alone, or a stack whose light is totally reflected
	}
	s.ghosts, s.width = Ghosts(rng.IntN(3)), 60e9*float64(rng.IntN(2))
	return s
}

// The tracer against the path sum over random stacks: greatest and least transmission to 1e-9 of the
// greatest, and the matrix and delays that go with them.
func TestTracerAgainstPathSum(t *testing.T) {
	batch := require.Sample(100, 250)
	batches := 1
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		batches = 400
	}
	for b := range batches {
		t.Run(strconv.Itoa(b), func(t *testing.T) {
			t.Parallel()
			t.Logf("%d stacks, worst %.2g", batch, tracerOff(t, rand.New(rand.NewPCG(4, uint64(2+b))), batch))
		})
	}
}

// tracerOff compares the tracer with the path sum over n random stacks and returns the worst deviation, as a fraction
// of the greatest transmission.
func tracerOff(t *testing.T, rng *rand.Rand, n int) (worst float64) {
	t.Helper()
	q := new(tracer)
	for i, done := 0, 0; done < n; i++ {
		s := randomStack(t, rng)
		if s == nil {
			continue
		}
		done++
		temperature := quantity.Temperature(float64(room) + 6*rng.Float64() - 4)
		l := quantity.Length(1500e-9 + 80e-9*rng.Float64())
		c := s.lay(temperature)
		if err := c.tune(l); err != nil {
			t.Fatal(err)
		}
		for _, d := range []Direction{Forward, Backward} {
			want := s.evaluate(c, d, l)
			got := q.evaluate(s, c, d, l)
			if want.T1 == 0 && got.T1 == 0 {
				continue // totally reflected
			}
			off := max(math.Abs(got.T1-want.T1), math.Abs(got.T2-want.T2)) / want.T1
			for r := range 2 {
				for k := range 2 {
					off = max(off, math.Hypot(real(got.M[r][k]-want.M[r][k]),
						imag(got.M[r][k]-want.M[r][k]))/math.Sqrt(want.T1))
				}
			}
			worst = max(worst, off)
			if !(off < 1e-9) || want.T1 > 1e-12 && cmplx.Abs(want.M.Det()) > 1e-3*want.T1 &&
				!scalar.EqualWithinAbsOrRel(got.DGD(), want.DGD(), 1e-20, 1e-6) {
				t.Fatalf("stack %d, %s: tracer %.15g %.15g, path sum %.15g %.15g, off %.3g; DGD %g and %g\n%s", i, d,
					got.T1, got.T2, want.T1, want.T2, off, got.DGD(), want.DGD(), kinds(s))
			}
		}
	}
	return worst
}

// The ends of paths that an alignment goes by are those of the path sum: where they lie, where they point, and the
// power that all depolarization modes carry there.
func TestCollectablesAgainstPathSum(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 77))
	q := new(tracer)
	for done := 0; done < 200; {
		s := randomStack(t, rng)
		if s == nil {
			continue
		}
		done++
		s.ghosts = GhostsNone
		c := s.lay(room)
		if err := c.tune(at); err != nil {
			t.Fatal(err)
		}
		var want []collectable
		shot := s.shoot(c, Forward, at, Pose{}, func(a *arrival) {
			sum := 0.0
			for m := range 1 << len(c.films) {
				for _, v := range a.field[m] {
					sum += v.power()
				}
			}
			if sum > 0 {
				want = append(want, collectable{a.course, Pose{flat(a.r), flat(a.wave.N)}, sum / 2})
			}
		})
		shot.along(shot.chief())
		got := q.collectables(s, c, s.ports[0], at)
		if len(got) != len(want) {
			t.Fatalf("%d ends, want %d\n%s", len(got), len(want), kinds(s))
		}
		for i, w := range want {
			g := got[i]
			off, turned := g.pose.Offset.Sub(w.pose.Offset), g.pose.Tilt.Sub(w.pose.Tilt)
			near := scalar.EqualWithinAbsOrRel(g.power, w.power, 1e-15, 1e-9) && scalar.EqualWithinRel(g.course.Reduced,
				w.course.Reduced, 1e-12)
			if !near || math.Hypot(off.X, off.Y) > 1e-15 || math.Hypot(turned.X, turned.Y) > 1e-12 ||
				g.course.Sent != w.course.Sent {
				t.Fatalf("end %d: %+v, want %+v\n%s", i, g, w, kinds(s))
			}
		}
	}
}

// A tracer allocates nothing.
func TestTracerDoesNotAllocate(t *testing.T) {
	p := plain
	p.extinction, p.reflectance = 1e4, 1e-3
	s := p.stack(t)
	c := s.lay(room)
	q := new(tracer)
	if n := testing.AllocsPerRun(20, func() {
		if err := c.tune(at); err != nil {
			t.Fatal(err)
		}
		q.evaluate(s, c, Backward, at)
	}); n > 0 {
		t.Errorf("%g allocations a point", n)
	}
}

func kinds(s *Stack) string {
	var all []string
	for _, e := range s.spec.Elements {
		all = append(all, e.Label())
	}
	return strings.Join(all, " ")
}

// As many bare faces as a stack may have, behind a wedge that makes the paths deviate: every face forks, every pair
// bounces, and paths are traced again along their own rays on top of that.
func TestTracerHasRoomForEveryFace(t *testing.T) {
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	bare := element.Coating{Bare: true}
	parts := []element.Element{element.Wedge{Crystal: crystal(t, "YVO4"), Slanted: element.Front, Apex: 1 * deg,
		Thickness: 0.5e-3, Axis: 30 * deg, Coating: bare}}
	for len(parts) < maxFaces-1 {
		parts = append(parts, element.Gap{Length: 0.05e-3}, element.Plate{As: "plate", Glass: silica, Thickness: 0.1e-3,
			Coating: bare})
	}
	s, err := New(Spec{Elements: parts, Beam: element.Collimator{Waist: 200e-6, WorkingDistance: 30e-3}, AlignAt: at,
		AlignTemperature: room})
	if err != nil {
		t.Fatal(err)
	}
	if n := len(s.lay(room).faces); n != maxFaces {
		t.Fatalf("%d faces, want %d", n, maxFaces)
	}
	c := s.lay(room)
	if err := c.tune(at); err != nil {
		t.Fatal(err)
	}
	for _, d := range []Direction{Forward, Backward}[:require.Sample(1, 2)] { // the path sum takes seconds
		got, want := point(t, s, d), s.evaluate(c, d, at)
		if math.Abs(got.T1/want.T1-1) > 1e-9 {
			t.Errorf("%s: transmission %.12g, want %.12g", d, got.T1, want.T1)
		}
	}
}
