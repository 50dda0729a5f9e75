package stack

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/reports/require"
)

// ported draws a random stack with three more ports, two in front and one behind, and now and then a part made of two
// halves; nil for one that cannot be built. apart keeps ports at one end clear of each other; mirrored ends the stack
// in a mirror.
func ported(t testing.TB, rng *rand.Rand, apart, mirrored bool) *Stack {
	t.Helper()
	s := randomStack(t, rng)
	if s == nil {
		return nil
	}
	spec := s.Spec()
	if !apart && rng.IntN(2) == 0 {
		half := func() element.Element {
			return element.Retarder{Crystal: crystal(t, "YVO4"), Retardance: math.Pi, At: at,
				Axis: quantity.Angle(rng.Float64() * math.Pi)}
		}
		h := element.Halves{First: half(), Second: half(), Towards: quantity.Angle(rng.Float64() * 2 * math.Pi),
			Border: quantity.Length(200e-6 * (rng.Float64() - 0.5))}
		spec.Elements = append(spec.Elements, h, element.Gap{Length: 0.1e-3})
	}
	if mirrored {
		spec.Elements = append(spec.Elements, element.Mirror{Reflectance: 0.5 + 0.5*rng.Float64(),
			Tilt: quantity.Angle(0.5 * rng.Float64() * deg), Azimuth: quantity.Angle(rng.Float64() * math.Pi)})
		spec.Beam.WorkingDistance *= 2
	}
	w := float64(spec.Beam.Waist)
	pose := func(k float64) Pose {
		if apart { // a row of ports three waists from each other, almost parallel to the axis
			return Pose{Offset: vec(3*w*k, 0), Tilt: vec(1e-3*(rng.Float64()-0.5), 1e-3*(rng.Float64()-0.5))}
		}
		return Pose{Offset: vec(3*w*k+w*(rng.Float64()-0.5), w*(rng.Float64()-0.5)),
			Tilt: vec(0.01*(rng.Float64()-0.5), 0.01*(rng.Float64()-0.5))}
	}
	spec.Ports = []Port{{Name: "1", Launches: Forward, Pose: pose(0)}, {Name: "3", Launches: Forward, Pose: pose(1)},
		{Name: "5", Launches: Forward, Pose: pose(-1)}}
	if !mirrored {
		spec.Ports = append(spec.Ports, Port{Name: "2", Launches: Backward, Pose: pose(0)},
			Port{Name: "4", Launches: Backward, Pose: pose(1)})
	}
	ghosts, width := s.ghosts, s.width
	if s, err := New(spec); err == nil {
		s.ghosts, s.width = ghosts, width
		return s
	}
	return nil
}

// reflectedSum is what port j gets of the light of port i at the same end by the faces between the lenses, by the
// readable path sum: the matrix of all of it for light that no film depolarizes, and the power of all of it.
func (s *Stack) reflectedSum(c *course, i, j int, l quantity.Length) (m polar.Matrix, h polar.Gram) {
	d := s.ports[i].Launches
	t := s.shoot(c, d, l, s.poseAt(c.at), nil)
	t.from, t.home = s.standing(i, c.at), s.standing(j, c.at)
	t.zStart, t.zEnd = s.ends(d)
	t.ghosts = false
	t.visit = func(*path) {}
	t.facet = t.to.facet(0, 0)
	sums := make([][allModes]polar.Matrix, len(c.faces)+1)
	t.returned = func(p *path) {
		p, amplitude := t.alongOwn(p)
		for m := range t.modes {
			if uint8(m)&^p.films == 0 { // else a copy of a mode that counts
				sums[p.first][m] = sums[p.first][m].Add(t.home.received(p, m, -d).Scale(amplitude))
			}
		}
	}
	t.along(t.fold())
	for m := range t.modes {
		var all polar.Matrix
		for i := range sums {
			if s.fwhm() == 0 {
				all = all.Add(sums[i][m])
			} else { // powers: what a source of infinite linewidth sees
				h.Add(sums[i][m])
			}
		}
		h.Add(all)
	}
	for i := range sums {
		m = m.Add(sums[i][0])
	}
	return m, h
}

// alongOwn traces light that was sent back once more along its own ray, where that differs from the base ray.
func (s *pathSum) alongOwn(p *path) (*path, complex128) {
	amplitude, base := s.meetAgain(p), s.base
	for range retraces {
		off := s.returning(p).Sent.Add(s.returning(p).Waiting).Scale(0.5)
		if off.Dot(off) < ownRay*ownRay || power(amplitude) < negligible*negligible {
			break
		}
		t := *s
		var found *path
		t.only = p.rays[:p.count]
		t.returned = func(q *path) {
			if q.first == p.first && q.count == p.count {
				found = q
			}
		}
		t.along(r3.Unit(r3.Add(s.base, r3.Vec{X: off.X, Y: off.Y})))
		if found == nil {
			break
		}
		s.base = t.base
		p, amplitude = found, s.meetAgain(found)
	}
	s.base = base
	return p, amplitude
}

// All ports against each other by the tracer and by the readable path sum, over random stacks with ports anywhere, some
// of them made of two halves and some before a mirror: to 1e-9 of the light that the better state brings.
func TestPortsAgainstPathSum(t *testing.T) {
	batches := 1
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		batches = 50
	}
	for b := range batches {
		t.Run(strconv.Itoa(b), func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(20, uint64(b)))
			through, back, dark := 0, 0, 0
			for done := 0; done < 40; {
				s := ported(t, rng, false, done%4 == 3)
				if s == nil {
					continue
				}
				done++
				if s.width > 0 { // the linewidth is the business of coherence_test.go
					s = s.WithLinewidth(0)
				}
				c := tuned(t, s)
				for i, a := range s.ports {
					for j, z := range s.ports {
						got, err := s.Between(a.Name, z.Name, at, room)
						if err != nil {
							t.Fatal(err)
						}
						want := s.witness(c, i, j)
						if want.T1 < 1e-20 && got.T1 < 1e-20 {
							dark++
							continue
						}
						if off := math.Abs(got.T1-want.T1) + math.Abs(got.T2-want.T2); !(off < 1e-9*want.T1) {
							t.Fatalf("from %s to %s: tracer %.12g %.12g, path sum %.12g %.12g\n%s", a.Name, z.Name,
								got.T1,
								got.T2, want.T1, want.T2, kinds(s))
						}
						if a.Launches == z.Launches {
							back++
						} else {
							through++
						}
					}
				}
			}
			t.Logf("%d through, %d reflected, %d dark", through, back, dark)
			if through < 60 || back < 150 {
				t.Errorf("%d through and %d reflected: too few to tell", through, back)
			}
		})
	}
}

// witness is what port j gets of port i's light by the path sum.
func (s *Stack) witness(c *course, i, j int) (p Point) {
	d := s.ports[i].Launches
	if s.ports[j].Launches == d {
		p.M, p.H = s.reflectedSum(c, i, j, at)
		p.T1, p.T2 = p.H.Extremes()
		return p
	}
	pair := s.between(i, j)
	if d == Backward {
		pair = s.between(j, i)
	}
	return pair.evaluate(c, d, at)
}

// reversed is a stack whose magnetic field points the other way.
func reversed(t testing.TB, s *Stack) *Stack {
	t.Helper()
	spec := s.Spec()
	for i, e := range spec.Elements {
		if r, ok := e.(element.Rotator); ok {
			r.Angle = -r.Angle
			spec.Elements[i] = r
		}
	}
	r, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	return r.like(s)
}

// squared is the stack without its wedges, every other part square to the axis and wide; nil where that is none.
func squared(s *Stack) *Stack {
	spec := s.Spec()
	var square []element.Element
	for _, e := range spec.Elements {
		switch e := e.(type) {
		case element.Wedge:
			continue
		case element.Mirror:
			e.Tilt = 0
			square = append(square, e)
		case element.Plate:
			e.Tilt, e.Aperture = 0, 0
			square = append(square, e)
		case element.Retarder:
			e.Tilt, e.Aperture = 0, 0
			square = append(square, e)
		case element.Rotator:
			e.Slant, e.Aperture = element.Slant{}, 0
			square = append(square, e)
		case element.Polarizer:
			e.Slab.Slant, e.Slab.Aperture = element.Slant{}, 0
			square = append(square, e)
		default:
			square = append(square, e)
		}
	}
	spec.Elements = square
	r, err := New(spec)
	if err != nil {
		return nil
	}
	return r.like(s)
}

// S(B) = S(-B)^T: what any port gets of any other is the transpose of what that gets of it when the field is reversed.
// (H. B. G. Casimir's relation for a linear network in a magnetic field; from memory.) Between parallel planes to 1e-9,
// between slanted ones within what the Gaussian overlap leaves; a face reflects what it does either way.
func TestMatrixOfPortsWhenTheFieldReverses(t *testing.T) {
	rng := rand.New(rand.NewPCG(20, 7))
	parallel, clipped, slanted, reflected := 0.0, 0.0, 0.0, 0.0
	turned, level := 0, 0 // stacks with a film, pairs of ports between parallel planes
	for done := 0; done < require.Sample(30, 60); {
		s := ported(t, rng, true, done%5 == 4)
		if s != nil && done%3 == 0 {
			s = squared(s)
		}
		if s == nil {
			continue
		}
		done++
		planes, clear := true, true
		for _, f := range s.lay(room).faces {
			planes, clear = planes && f.Normal.Z > 1-1e-12, clear && f.Aperture == 0
		}
		if s.rotates() {
			turned++
		}
		r := reversed(t, s.WithGhosts(GhostsNone))
		r, s = r.WithLinewidth(0), s.WithGhosts(GhostsNone).WithLinewidth(0)
		for _, a := range s.ports {
			for _, z := range s.ports {
				f, err := s.Between(a.Name, z.Name, at, room)
				if err != nil {
					t.Fatal(err)
				}
				b, err := r.Between(z.Name, a.Name, at, room)
				if err != nil {
					t.Fatal(err)
				}
				if f.T1 < 1e-4 {
					continue
				}
				off := untransposed(f.M, b.M) / math.Sqrt(f.T1)
				switch {
				case a.Launches == z.Launches && !planes:
					reflected = max(reflected, off)
				case !planes:
					slanted = max(slanted, off)
				case !clear:
					clipped = max(clipped, off)
				default:
					parallel = max(parallel, off)
					level++
				}
			}
		}
	}
	t.Logf("of the amplitude: parallel planes %.2g, with apertures %.2g, slanted faces %.2g, reflected by these %.2g; "+
		"%d stacks with a film, %d pairs between parallel planes", parallel, clipped, slanted, reflected, turned, level)
	if parallel > 1e-9 || clipped > 1e-6 || slanted > 5e-3 || reflected > 5e-3 {
		t.Errorf("parallel planes %.3g, with apertures %.3g, slanted faces %.3g, reflected by these %.3g", parallel,
			clipped,
			slanted, reflected)
	}
	if n := require.Sample(30, 60); turned < n/4 || level < n/2 {
		t.Errorf("only %d stacks have a film and %d pairs only parallel planes: too few to tell", turned, level)
	}
}

// What all ports together get of one port's light, reflections included, is at most what was launched, for every
// state of polarization. The ports stand clear of each other; double bounces are left out, as light that bounces
// twice is part of neither sum.
func TestPortsTogetherGetAtMostAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(20, 9))
	most, shared := 0.0, 0
	for done := 0; done < require.Sample(50, 100); {
		s := ported(t, rng, true, done%4 == 3)
		if s == nil {
			continue
		}
		done++
		s = s.WithGhosts(GhostsNone)
		for _, a := range s.ports {
			var all polar.Gram
			some := 0
			for _, z := range s.ports {
				p, err := s.WithGhosts(GhostsIncoherent).Between(a.Name, z.Name, at, room)
				if a.Launches != z.Launches {
					p, err = s.Between(a.Name, z.Name, at, room)
				}
				if err != nil {
					t.Fatal(err)
				}
				all.AddGram(p.H)
				if p.T1 > 0.01 {
					some++
				}
			}
			t1, _ := all.Extremes()
			most = max(most, t1)
			if some > 1 {
				shared++
			}
			if t1 > 1+1e-6 {
				t.Fatalf("port %s: %.9f of the power arrives\n%s", a.Name, t1, kinds(s))
			}
		}
	}
	t.Logf("at most %.6f of the light arrives; %d times at several ports", most, shared)
	if shared < require.Sample(5, 12) {
		t.Errorf("only %d times light arrived at several ports: too few to tell", shared)
	}
}

// A mirror behind a 45 deg rotator returns every state orthogonal to what it was, whatever reciprocal birefringence
// it has passed on its way (M. Martinelli, Opt. Commun. 72, 341 (1989), abstract): with U there and U^T back, U^T S U
// = det(U) S, S antisymmetric. A fibre of any birefringence stands before the port, and retarders of any kind before
// the rotator; E^T M E, what of the light returned is in the state that was launched, is zero to 1e-12 in amplitude.
// A rotator that is off by d leaves at most sin^2 2d there, and reaches it.
func TestFaradayMirror(t *testing.T) {
	rng := rand.New(rand.NewPCG(20, 11))
	build := func(d float64, birefringent bool) *Stack {
		r := design{crystal: "YVO4", extinction: math.Inf(1)}.spec(t).Elements[2].(element.Rotator)
		r.Angle = quantity.Angle((45 + d) * deg)
		parts := []element.Element{}
		if birefringent {
			for range 3 {
				parts = append(parts, element.Retarder{Crystal: crystal(t, "quartz"),
					Retardance: quantity.Angle(math.Pi * (0.05 + rng.Float64())), At: at,
					Axis: quantity.Angle(math.Pi * rng.Float64())}, element.Gap{Length: 0.02e-3})
			}
		}
		parts = append(parts, r, element.Gap{Length: 0.02e-3}, element.Mirror{Reflectance: 0.98})
		s, err := New(Spec{Elements: parts, Beam: element.Collimator{Waist: 200e-6, WorkingDistance: 4e-3}, AlignAt: at,
			AlignTemperature: room})
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	var worst [2]float64 // without and with retarders in the stack
	for k := range 200 {
		s := build(0, k%2 == 1)
		p, err := s.Between("1", "1", at, room)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(p.T1-0.98) > 1e-4 || math.Abs(p.T2-0.98) > 1e-4 {
			t.Fatalf("%.6f and %.6f of the light return, want 0.98", p.T1, p.T2)
		}
		u := randomUnitary(rng)
		m := transpose(u).Mul(p.M).Mul(u) // through a fibre and back
		for range 10 {
			x, y := cmplx.Rect(rng.Float64(), 7*rng.Float64()), cmplx.Rect(rng.Float64(), 7*rng.Float64())
			same := x*(m[0][0]*x+m[0][1]*y) + y*(m[1][0]*x+m[1][1]*y)
			got := cmplx.Abs(same) / (power(x) + power(y))
			worst[k%2] = max(worst[k%2], got)
		}
	}
	t.Logf("amplitude in the state launched: %.2g, through retarders %.2g", worst[0], worst[1])
	// The optical path of each path through the retarders, 4 mm, is rounded to 4e-19 m, or 2e-12 of a wave.
	if worst[0] > 1e-12 || worst[1] > 1e-11 {
		t.Errorf("%.3g of the amplitude returns in the state that was launched, %.3g through retarders", worst[0],
			worst[1])
	}
	// d 0.5, 1, 2 deg: 35.163, 29.144, 23.128 dB.
	for _, c := range [][2]float64{{0.5, 35.163}, {1, 29.144}, {2, 23.128}} {
		p, err := build(c[0], false).Between("1", "1", at, room)
		if err != nil {
			t.Fatal(err)
		}
		most := 0.0
		for range 20000 {
			u := randomUnitary(rng)
			m := transpose(u).Mul(p.M).Mul(u)
			most = max(most, power(m[0][0])/p.T1)
		}
		if got := -quantity.Decibels(most); math.Abs(got-c[1]) > 0.01 {
			t.Errorf("%g deg off: at least %.3f dB, want %.3f", c[0], got, c[1])
		}
	}
}

func transpose(m polar.Matrix) polar.Matrix {
	return polar.Matrix{{m[0][0], m[1][0]}, {m[0][1], m[1][1]}}
}

// randomUnitary draws the Jones matrix of a fibre.
func randomUnitary(rng *rand.Rand) polar.Matrix {
	a := math.Asin(math.Sqrt(rng.Float64()))
	x, y := cmplx.Rect(math.Cos(a), 7*rng.Float64()), cmplx.Rect(math.Sin(a), 7*rng.Float64())
	common := cmplx.Rect(1, 7*rng.Float64())
	return polar.Matrix{{x, y}, {-cmplx.Conj(y), cmplx.Conj(x)}}.Scale(common)
}

// What New refuses of ports.
func TestPortsThatCannotBe(t *testing.T) {
	base := plain.spec(t)
	for _, c := range []struct {
		ports []Port
		want  string
	}{
		{[]Port{{Name: "3", Launches: Forward}}, "stand in the same place"},
		{[]Port{{Name: "3", Launches: Forward, Pose: Pose{Offset: vec(2e-3, 0)}}, {Name: "3", Launches: Forward}},
			"already taken"},
		{[]Port{{Name: "3", Launches: Forward, Follows: "1"}}, "at the same end"},
		{[]Port{{Name: "3", Launches: Forward, Follows: "4"}}, "does not have"},
		{[]Port{{Name: "2", Launches: Forward}}, "other end"},
		{[]Port{{Name: "", Launches: Forward}}, "must hold something"},
		{[]Port{{Name: "3"}}, "direction"},
		{[]Port{{Name: "3", Launches: Forward, Pose: Pose{Tilt: vec(0.3, 0)}}}, "off the device's axis"},
	} {
		spec := base
		spec.Ports = c.ports
		if _, err := New(spec); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want an error about %q", c.ports, err, c.want)
		}
	}
	s := plain.stack(t)
	if _, err := s.Between("1", "7", at, room); err == nil || !strings.Contains(err.Error(), "it has 1, 2") {
		t.Errorf("port 7: %v", err)
	}
	if _, err := s.Pair("2", "1"); err == nil {
		t.Error("a pair of ports the wrong way round")
	}
}

// A fibre beside the axis of a lens makes a beam that crosses the axis in the focal plane in front of the lens.
func TestFibresBesideTheAxisOfALens(t *testing.T) {
	p := Beside(beam.Vec{X: 62.5e-6, Y: -20e-6}, 2e-3)
	q := newPort(0, p)
	crossing := r3.Add(q.r, r3.Scale(2e-3/q.axis.Z, q.axis))
	if math.Hypot(crossing.X, crossing.Y) > 1e-15 {
		t.Errorf("the beam is %.3g m off the axis a focal length before the lens", math.Hypot(crossing.X, crossing.Y))
	}
}
