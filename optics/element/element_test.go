package element

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

const deg = math.Pi / 180

func wedge(t *testing.T, crystal string, side Side) Wedge {
	t.Helper()
	c, err := material.Named(crystal)
	if err != nil {
		t.Fatal(err)
	}
	return Wedge{Name: "w", Crystal: c, Slanted: side, Apex: 5 * deg, Thickness: 0.5e-3, Axis: 22.5 * deg}
}

func rotator(t *testing.T) Rotator {
	t.Helper()
	g, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	return Rotator{Name: "r", Garnet: g, Angle: 45 * deg, At: 1550e-9, Temperature: quantity.Celsius(23)}
}

func TestWedgeFaces(t *testing.T) {
	w := wedge(t, "YVO4", Front)
	w.Azimuth = 30 * deg
	part := w.Place(quantity.Celsius(20))
	want := r3.Vec{X: math.Sin(5*deg) * math.Cos(30*deg), Y: math.Sin(5*deg) * math.Sin(30*deg), Z: math.Cos(5 * deg)}
	if d := r3.Norm(r3.Sub(part.Faces[0].Normal, want)); d > 1e-15 {
		t.Errorf("slanted normal %v, want %v", part.Faces[0].Normal, want)
	}
	if n := part.Faces[1].Normal; n != (r3.Vec{Z: 1}) || part.Faces[1].Z != 0.5e-3 || part.Faces[0].Z != 0 {
		t.Errorf("flat face %v at %g", n, part.Faces[1].Z)
	}
	w.Slanted = Back
	back := w.Place(quantity.Celsius(20))
	if back.Faces[1].Normal != part.Faces[0].Normal || back.Faces[0].Normal != (r3.Vec{Z: 1}) {
		t.Errorf("a wedge slanted at the back has faces %v", back.Faces)
	}
}

// Calcite shrinks across its axis and grows along it. A wedge whose slant runs along the axis: its flat
// length grows by 1 + aC dT, its height shrinks by 1 + aA dT, and the apex follows; checked by moving the
// corners of the wedge themselves.
func TestWedgeExpands(t *testing.T) {
	w := wedge(t, "calcite", Back)
	w.Axis, w.Azimuth = 0, 0
	const rise = 100.0
	x, known := w.Crystal.Expansion()
	if !known {
		t.Fatal("calcite's expansion is not known")
	}
	part := w.Place(quantity.Celsius(20 + rise))
	if got, want := part.Length, 0.5e-3*(1+x.A*rise); math.Abs(got-want) > 1e-15 {
		t.Errorf("thickness %.12g, want %.12g", got, want)
	}
	across, along := 1+x.A*rise, 1+x.C*rise
	run := r3.Vec{X: along * math.Cos(5*deg), Z: -across * math.Sin(5*deg)} // an edge of the slanted face
	if d := r3.Dot(run, part.Faces[1].Normal); math.Abs(d) > 1e-15 {
		t.Errorf("the slanted face's normal leans %g out of square", d)
	}
}

func TestRotatorThicknessFollowsAngle(t *testing.T) {
	r := rotator(t)
	d, err := r.Thickness()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := float64(d), 45.0/1150*1e-2; math.Abs(got-want) > 1e-12 {
		t.Errorf("thickness %g, want %g", got, want)
	}
	short, err := r.With("angle", quantity.Of(44.4, "deg"))
	if err != nil {
		t.Fatal(err)
	}
	media := []Medium{{}}
	if err := short.Tune(1540e-9, quantity.Celsius(33), media); err != nil {
		t.Fatal(err)
	}
	if got, want := media[0].Rotation/deg, 44.4*(1+(0.7-0.6)/45); math.Abs(got-want) > 1e-9 {
		t.Errorf("rotation %.9f deg, want %.9f: slopes scale with thickness", got, want)
	}
}

// A rotator turns by V B d (common practice, no source): twice the film, twice the turn.
func TestRotationGrowsWithThickness(t *testing.T) {
	r := rotator(t)
	one, _ := r.Thickness()
	r.Angle = 90 * deg
	two, _ := r.Thickness()
	if math.Abs(float64(two/one)-2) > 1e-12 {
		t.Errorf("90 deg takes %g of the film of 45 deg, want 2", two/one)
	}
}

// A gap stays as it is unless what holds it expands; its length is that at 20 degC (ISO 1).
func TestGapExpands(t *testing.T) {
	for _, c := range []struct{ expansion, celsius, want float64 }{
		{0, 70, 0.2e-3}, {17e-6, 20, 0.2e-3}, {17e-6, 70, 0.2e-3 * (1 + 17e-6*50)}, {-1e-6, -5, 0.2e-3 * (1 + 1e-6*25)},
	} {
		g := Gap{Name: "g", Length: 0.2e-3, Expansion: c.expansion}
		if got := g.Place(quantity.Celsius(c.celsius)).Length; math.Abs(got-c.want) > 1e-18 {
			t.Errorf("expansion %g at %g degC: %.12g m, want %.12g", c.expansion, c.celsius, got, c.want)
		}
	}
	if err := (Gap{Expansion: 17}).Check(); err == nil {
		t.Error("an expansion of 17 per kelvin was accepted")
	}
}

func TestParameters(t *testing.T) {
	var es = []Element{wedge(t, "YVO4", Front), rotator(t), Gap{Name: "g", Length: 0.2e-3, Expansion: 17e-6}}
	for _, e := range es {
		for _, p := range e.Parameters() {
			same, err := e.With(p.Path, p.Value)
			if err != nil {
				t.Errorf("%s.%s set to itself: %v", e.Label(), p.Path, err)
				continue
			}
			for i, q := range same.Parameters() {
				// The way to SI and back costs a rounding.
				if was := e.Parameters()[i].Value; math.Abs(q.Value.SI()-was.SI()) > 1e-12*math.Abs(was.SI()) {
					t.Errorf("%s.%s changed from %v to %v", e.Label(), q.Path, was, q.Value)
				}
			}
		}
	}
	for _, c := range []struct {
		e           Element
		name, value string
		want        string
	}{
		{es[0], "apex", "nm", "must be given as an angle"},
		{es[0], "apx", "deg", "apex, thickness"},
		{es[1], "extinction", "deg", "must be given in dB"},
		{es[0], "apex", "rad", "less than 45 deg"},
		{es[2], "length", "deg", "a length"},
		{es[2], "expansion", "mm", "such as 1.7e-05 /K"},
	} {
		if _, err := c.e.With(c.name, quantity.Of(1, c.value)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s = 1 %s: %v, want %q", c.name, c.value, err, c.want)
		}
	}
}

func TestCheck(t *testing.T) {
	bad := wedge(t, "YVO4", "top")
	thin := wedge(t, "YVO4", Front)
	thin.Thickness = -1
	mirror := rotator(t)
	mirror.Coating.Reflectance = 1
	for _, e := range []Element{bad, thin, Wedge{Name: "none", Slanted: Front}, mirror, Gap{Length: -1}} {
		if e.Check() == nil {
			t.Errorf("%+v was accepted", e)
		}
	}
	if err := (Collimator{Waist: 2e-4, WorkingDistance: 5e-3, Loss: -1}).Check(); err == nil {
		t.Error("a collimator pair with gain was accepted")
	}
}
