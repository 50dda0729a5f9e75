package stack

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
)

// The chief rays end where Paths says, and obey Snell's law at every face on the ordinary path.
func TestTraces(t *testing.T) {
	s := plain.stack(t)
	n, err := crystal(t, "YVO4").At(at, room)
	if err != nil {
		t.Fatal(err)
	}
	slabs := s.Slabs(room)
	var faces []Plane
	for _, b := range slabs {
		faces = append(faces, b.Faces...)
	}
	index := []float64{1, n.O, 1, 2.33, 1, n.O, 1} // along the path oo
	for _, d := range []Direction{Forward, Backward} {
		traces, err := s.Traces(d, at, room, 1e-20)
		if err != nil || len(traces) != 4 {
			t.Fatalf("%d traces, %v", len(traces), err)
		}
		to := vec(s.Pose().Offset.X, s.Pose().Offset.Y)
		if d == Backward {
			to = beam.Vec{}
		}
		for _, tr := range traces {
			last := tr.Points[len(tr.Points)-1]
			if off := math.Hypot(last.X-to.X-tr.Offset.X, last.Y-to.Y-tr.Offset.Y); off > 1e-15 {
				t.Errorf("%s %s ends %g m from where Paths says", d, tr.Label, off)
			}
			if len(tr.Points) != 8 || len(tr.Rays) != 7 || tr.Rays[0] != ' ' {
				t.Fatalf("%s %s: %d points, rays %q", d, tr.Label, len(tr.Points), tr.Rays)
			}
			if tr.Label != "oo" {
				continue
			}
			for i := range faces {
				f := faces[i]
				if d == Backward {
					f = faces[len(faces)-1-i]
				}
				in, out := r3.Sub(tr.Points[i+1], tr.Points[i]), r3.Sub(tr.Points[i+2], tr.Points[i+1])
				sine := func(v r3.Vec) float64 { return r3.Norm(r3.Cross(r3.Unit(v), f.Normal)) }
				if a, b := index[i]*sine(in), index[i+1]*sine(out); math.Abs(a-b) > 1e-12 {
					t.Errorf("%s, face %d: n sin is %.15f before and %.15f behind", d, i+1, a, b)
				}
			}
		}
	}
}
