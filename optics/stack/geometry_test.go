package stack

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
)

func outline(t testing.TB, s *Stack, at quantity.Temperature) Outline {
	t.Helper()
	o, err := s.Outline(1550e-9, at)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func traces(t testing.TB, s *Stack, d Direction, at quantity.Temperature) []Trace {
	t.Helper()
	all, err := s.Traces(d, 1550e-9, at)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// Chief rays end where Paths says and in its direction; ordinary rays obey Snell's law at every face, in the plane of
// incidence, whatever became of the light before. One stage, and two at an angle.
func TestTraces(t *testing.T) {
	n, err := crystal(t, "YVO4").At(at, room)
	if err != nil {
		t.Fatal(err)
	}
	for name, s := range map[string]*Stack{"one stage": plain.stack(t), "two stages": twoStage(t, plain, -45)} {
		out := outline(t, s, room)
		var faces []Plane
		index := []float64{1} // of the medium before each face, for an ordinary ray
		for _, p := range out.Parts {
			inside := n.O
			if p.Kind == "rotator" {
				inside = 2.33
			}
			faces, index = append(faces, p.Faces...), append(index, inside, 1)
		}
		for _, d := range []Direction{Forward, Backward} {
			all := traces(t, s, d, room)
			want, err := s.WithGhosts(GhostsNone).Paths(d, at, room)
			if err != nil || len(all) != len(want) || len(all) != 1<<(len(out.Parts)*2/3) {
				t.Fatalf("%s: %d traces of %d paths, %v", name, len(all), len(want), err)
			}
			to, axis := beam.Vec{}, beam.Vec{}
			if d == Forward {
				to, axis = s.Pose().Offset, s.Pose().Tilt
			}
			for i, tr := range all {
				if tr.Path != want[i] {
					t.Fatalf("%s %s: trace %d is %+v, the path is %+v", name, d, i, tr.Path, want[i])
				}
				k := len(tr.Points)
				if k != len(faces)+2 || len(tr.Rays) != k-1 || len(tr.Reduced) != k {
					t.Fatalf("%s %s %s: %d points, rays %q", name, d, tr.Label, k, tr.Rays)
				}
				last := tr.Points[k-1]
				if off := math.Hypot(last.X-to.X-tr.Offset.X, last.Y-to.Y-tr.Offset.Y); off > 1e-15 {
					t.Errorf("%s %s %s ends %g m from where Paths says", name, d, tr.Label, off)
				}
				// The direction between two points holds eps * 1 mm / 1 mm; a picoradian is far more.
				way := r3.Unit(r3.Sub(last, tr.Points[k-2]))
				if off := math.Hypot(way.X-float64(d)*axis.X-tr.Tilt.X,
					way.Y-float64(d)*axis.Y-tr.Tilt.Y); off > 1e-12 {
					t.Errorf("%s %s %s leaves %g rad from where Paths says", name, d, tr.Label, off)
				}
				label := 0
				for j := range faces {
					at, before, behind := j, index[j], index[j+1]
					if d == Backward {
						at = len(faces) - 1 - j
						before, behind = index[at+1], index[at]
					}
					if tr.Rays[j] != ' ' {
						if tr.Rays[j] != tr.Label[label] {
							t.Errorf("%s %s %s: crystal %d holds ray %q", name, d, tr.Label, label+1, tr.Rays[j])
						}
						label++
					}
					if z := faces[at].Height(tr.Points[j+1].X, tr.Points[j+1].Y); math.Abs(z-tr.Points[j+1].Z) > 1e-15 {
						t.Errorf("%s %s %s: point %d is %g m off its face", name, d, tr.Label, j+1, tr.Points[j+1].Z-z)
					}
					if tr.Rays[j] == 'e' || tr.Rays[j+1] == 'e' {
						continue
					}
					along := func(m float64, a, b r3.Vec) r3.Vec {
						return r3.Scale(m, r3.Cross(r3.Unit(r3.Sub(b, a)), faces[at].Normal))
					}
					in, out := along(before, tr.Points[j], tr.Points[j+1]), along(behind, tr.Points[j+1],
						tr.Points[j+2])
					if off := r3.Norm(r3.Sub(in, out)); off > 1e-12 {
						t.Errorf("%s %s %s, face %d: n sin differs by %g", name, d, tr.Label, j+1, off)
					}
				}
			}
		}
	}
}

// Forward, the two wedges are one plane-parallel plate for the ordinary ray: it leaves along z. The extraordinary index
// depends a little on the azimuth of the axis to the plane of incidence, so ee leaves within some microradians.
func TestStraightRaysLeaveParallel(t *testing.T) {
	drawn := quantity.Celsius(20) // elsewhere the wedges expand along different axes
	for _, tr := range traces(t, plain.stack(t).Posed(Pose{}), Forward, drawn) {
		tilt := math.Hypot(tr.Tilt.X, tr.Tilt.Y)
		switch {
		case tr.Label == "oo" && tilt > 1e-14, tr.Label == "ee" && tilt > 2e-4:
			t.Errorf("%s leaves at %g rad", tr.Label, tilt)
		case (tr.Label == "oe" || tr.Label == "eo") && tilt < 1e-2:
			t.Errorf("%s leaves at %g rad, want it rejected", tr.Label, tilt)
		}
	}
}

// In free space the reduced distance is the distance itself, and the waist lies midway.
func TestTraceOfASheet(t *testing.T) {
	s := assembled(t, element.Polarizer{Extinction: 1e4})
	for _, tr := range traces(t, s, Forward, room) {
		if k := len(tr.Points); tr.Label != "straight" || k != 3 || math.Abs(tr.Reduced[2]-20e-3) > 1e-15 ||
			tr.Points[0].Z != -10e-3 {
			t.Errorf("%+v", tr)
		}
		if w := tr.Radius(10e-3); math.Abs(w-300e-6) > 1e-12 {
			t.Errorf("radius %g m midway, want the waist", w)
		}
		// zR = pi w^2 / lambda = 182.4 mm (closed form)
		if w, want := tr.Radius(0), 300e-6*math.Hypot(1,
			10e-3/(math.Pi*300e-6*300e-6/1550e-9)); math.Abs(w-want) > 1e-12 {
			t.Errorf("radius %g m at the lens, want %g", w, want)
		}
	}
}

// A face with its normal leaning towards an azimuth recedes to smaller z there. So a wedge slanted in front grows
// thicker along that azimuth, one slanted at its back against it, and the two of an isolator stand with their thick
// ends opposite. The angle is the apex as drawn.
func TestTaper(t *testing.T) {
	for _, c := range []struct {
		azimuth, roll, first, last float64 // deg
	}{{0, 0, 0, 180}, {30, 0, 30, -150}, {0, -45, -45, 135}} {
		spec := plain.spec(t)
		for _, i := range []int{0, 4} {
			w := spec.Elements[i].(element.Wedge)
			w.Azimuth, w.Roll = quantity.Angle(c.azimuth*deg), quantity.Angle(c.roll*deg)
			spec.Elements[i] = w
		}
		s, err := New(spec)
		if err != nil {
			t.Fatal(err)
		}
		parts := outline(t, s, quantity.Celsius(20)).Parts
		for i, want := range map[int]float64{0: c.first, 2: c.last} {
			angle, azimuth := parts[i].Taper()
			if math.Abs(math.Remainder(azimuth-want*deg, 2*math.Pi)) > 1e-12 || math.Abs(angle-5*deg) > 1e-12 {
				t.Errorf("%s: %g deg thicker towards %g deg, want 5 and %g", parts[i].Label, angle/deg, azimuth/deg,
					want)
			}
		}
		if angle, azimuth := parts[1].Taper(); angle != 0 || azimuth != 0 {
			t.Errorf("the film tapers by %g towards %g", angle, azimuth)
		}
	}
}

func TestOutline(t *testing.T) {
	spec := plain.spec(t)
	r := spec.Elements[2].(element.Rotator)
	r.Magnets = magnet.Assembly{{Inner: 0.75e-3, Outer: 1.5e-3, Length: 2e-3, Remanence: -1, Position: 0.1e-3,
		Temperature: room}}
	spec.Elements = append(spec.Elements, element.Gap{Length: 0.3e-3}, element.Polarizer{Axis: 60 * deg,
		Extinction: 1e4},
		element.Retarder{Crystal: crystal(t, "quartz"), Retardance: math.Pi, At: at, Axis: 22.5 * deg})
	spec.Elements[2] = r
	s, err := New(spec)
	if err != nil {
		t.Fatal(err)
	}
	o := outline(t, s, room)
	var labels string
	for _, p := range o.Parts {
		labels += p.Label + " " + p.Material + ", "
	}
	if want := "wedge1 YVO4, rotator1 " + r.Garnet.Name +
		", wedge2 YVO4, polarizer1 , retarder1 quartz, "; labels != want {
		t.Errorf("parts %q, want %q", labels, want)
	}
	// Centred between lens faces 8 mm apart, to the micrometre that the parts grow from 20 to 23 degC.
	if a, b := -o.Launching, o.Receiving-o.Parts[4].Faces[1].Z; math.Abs(a-b) > 1e-7 ||
		math.Abs(o.Receiving-o.Launching-8e-3) > 1e-15 {
		t.Errorf("lens faces at %g and %g", o.Launching, o.Receiving)
	}
	film := o.Parts[1]
	middle := (film.Faces[0].Z + film.Faces[1].Z) / 2
	if math.Abs(float64(film.Magnets[0].Position)-middle-0.1e-3) > 1e-12 || r.Magnets[0].Position != 0.1e-3 {
		t.Errorf("magnet at %v, film at %g", film.Magnets[0].Position, middle)
	}
	if math.Abs(film.Rotation-45*deg) > 1e-12 || film.Axis != (r3.Vec{}) {
		t.Errorf("rotation %g", film.Rotation)
	}
	if b, err := r.Magnets.OnAxis(0, room); err != nil || film.Field != b || b <= 0 {
		t.Errorf("field %g T, want %g above zero, against the magnetization", film.Field, b)
	}
	if x := math.Atan2(o.Parts[3].Pass.Y, o.Parts[3].Pass.X); math.Abs(x-60*deg) > 1e-12 || len(o.Parts[3].Faces) != 1 {
		t.Errorf("polarizer passes %g deg", x/deg)
	}
	if x := math.Atan2(o.Parts[4].Axis.Y, o.Parts[4].Axis.X); math.Abs(x-22.5*deg) > 1e-12 {
		t.Errorf("axis of the retarder %g deg", x/deg)
	}
	if _, err := s.Outline(100e-9, room); err == nil {
		t.Error("a wavelength no crystal is known for was accepted")
	}
	if _, err := s.Traces(Backward, 100e-9, room); err == nil {
		t.Error("a wavelength no crystal is known for was traced")
	}
}
