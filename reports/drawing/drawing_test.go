package drawing

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg/recorder"

	"wedgework/optics/element"
	"wedgework/optics/magnet"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

const (
	deg = math.Pi / 180
	at1 = quantity.Length(1550e-9)
)

var room = quantity.Celsius(23)

func crystal(t testing.TB, name string) *material.Crystal {
	t.Helper()
	c, err := material.Named(name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func film(t testing.TB) element.Rotator {
	t.Helper()
	g, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	g.Extinction = 1e4
	return element.Rotator{Garnet: g, Angle: 45 * deg, At: at1, Temperature: room}
}

// core is two wedges about a film.
func core(t testing.TB) []element.Element {
	t.Helper()
	w := element.Wedge{Crystal: crystal(t, "YVO4"), Slanted: element.Front, Apex: 5 * deg, Thickness: 0.5e-3,
		Axis: 22.5 * deg}
	v := w
	v.Slanted, v.Axis = element.Back, 67.5*deg
	gap := element.Gap{Length: 0.1e-3}
	return []element.Element{w, gap, film(t), gap, v}
}

func assembled(t testing.TB, beam element.Collimator, parts ...element.Element) *stack.Stack {
	t.Helper()
	s, err := stack.New(stack.Spec{Elements: parts, Beam: beam, AlignAt: at1, AlignTemperature: room})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// designs are the stacks that the drawings are looked at and held to.
func designs(t testing.TB) map[string]*stack.Stack {
	t.Helper()
	pair := func(distance float64) element.Collimator {
		return element.Collimator{Waist: 200e-6, WorkingDistance: quantity.Length(distance)}
	}
	single := core(t)
	second := append(core(t), element.Gap{Length: 0.3e-3})
	for _, e := range core(t) {
		second = append(second, e.Rolled(-45*deg))
	}
	magnetic := core(t)
	f := film(t)
	f.Magnets = magnet.Assembly{{Inner: 0.75e-3, Outer: 1.5e-3, Length: 2e-3, Remanence: -1.05,
		Temperature: room}}
	f.Garnet.Saturation = 0.04
	magnetic[2] = f
	long := core(t) // the magnet reaches past the lens faces, which are near each other
	f.Magnets = magnet.Assembly{{Inner: 0.5e-3, Outer: 1.5e-3, Length: 12e-3, Remanence: -1.05, Temperature: room}}
	long[2] = f
	gap := element.Gap{Length: 0.2e-3}
	half := element.Retarder{Crystal: crystal(t, "quartz"), Retardance: math.Pi, At: at1, Axis: 22.5 * deg}
	first := element.Plate{As: "displacer", Crystal: crystal(t, "YVO4"), Thickness: 3e-3, Cut: 45 * deg}
	last := first
	p1 := element.Polarizer{Extinction: 1e5}
	p2 := p1
	p2.Axis = 45 * deg
	lensed := element.Collimator{Fibre: element.Fibre{ModeRadius: 5.2e-6}, Focal: 2e-3, WorkingDistance: 40e-3}
	return map[string]*stack.Stack{
		"single":    assembled(t, pair(6e-3), single...),
		"two-stage": assembled(t, pair(8e-3), second...),
		"displacer": assembled(t, pair(14e-3), first, gap, half, gap, film(t), gap, last),
		"dependent": assembled(t, pair(4e-3), p1, gap, film(t), gap, p2),
		"magnet":    assembled(t, lensed, magnetic...),
		"long":      assembled(t, pair(3.2e-3), long...),
	}
}

func drawn(t testing.TB, s *stack.Stack) *Drawing {
	t.Helper()
	d, err := New(s, at1, room)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// The single stage shows two straight paths forward, and backward two that are rejected at the angle first order gives,
// (ne - no) times the apex (textbook thin prism), dimensioned in the drawing.
func TestRejectedAngle(t *testing.T) {
	d := drawn(t, designs(t)["single"])
	n, err := crystal(t, "YVO4").At(at1, room)
	if err != nil {
		t.Fatal(err)
	}
	want := (n.E - n.O) * 5 * deg
	f := d.Rays()
	var dimensioned []string
	for _, a := range recorded(t, f, f.Width, f.Height) {
		if x, ok := a.(*recorder.FillString); ok && strings.HasSuffix(x.String, "°") {
			dimensioned = append(dimensioned, x.String)
		}
	}
	if len(dimensioned) != 2 {
		t.Fatalf("angles %q, want two", dimensioned)
	}
	for _, text := range dimensioned {
		got, err := strconv.ParseFloat(strings.TrimSuffix(text, "°"), 64)
		// Second order in the apex is 1 % here, and the number has two decimals.
		if err != nil || math.Abs(got*deg/want-1) > 0.02 {
			t.Errorf("rejected at %s, want %.3f°", text, want/deg)
		}
	}
	var back []string
	for _, tr := range d.backward.main() {
		back = append(back, tr.Label)
	}
	if got := strings.Join(back, " "); got != "oe eo" && got != "eo oe" {
		t.Errorf("strong paths backward %q", got)
	}
}

// A magnet magnetized along -z has its north pole at smaller z, turns its south pole to the eye at the receiving end,
// and its bore field runs along +z.
func TestPolarity(t *testing.T) {
	d := drawn(t, designs(t)["magnet"])
	f := d.Rays()
	x := map[string][]float64{}
	for _, a := range recorded(t, f, f.Width, f.Height) {
		if s, ok := a.(*recorder.FillString); ok && (s.String == "N" || s.String == "S") {
			x[s.String] = append(x[s.String], float64(s.Point.X))
		}
	}
	if len(x["N"]) != 2 || len(x["S"]) != 2 || x["N"][0] >= x["S"][0] || x["N"][1] >= x["S"][1] {
		t.Errorf("poles at %v, want N left of S twice", x)
	}
	e := d.Ends()
	south := 0
	for _, a := range recorded(t, e, e.Width, e.Height) {
		if s, ok := a.(*recorder.FillString); ok {
			if s.String == "N" {
				t.Error("the north pole is towards the eye")
			} else if s.String == "S" {
				south++
			}
		}
	}
	if south != 2 || !strings.Contains(e.Text, "mT to +z") || !strings.Contains(f.Text, "north pole towards −z") {
		t.Errorf("%d south poles; %s; %s", south, e.Text, f.Text)
	}
}

func TestAngles(t *testing.T) {
	for _, c := range []struct {
		v    r3.Vec
		want float64
	}{{r3.Vec{X: 1}, 0}, {r3.Vec{X: -1}, 0}, {r3.Vec{Y: -1}, 90}, {r3.Vec{X: 1, Y: -1}, 135}, {r3.Vec{X: -1, Y: -1e-17},
		0}} {
		if got := axisAzimuth(c.v); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("an axis along %v lies at %g, want %g", c.v, got, c.want)
		}
	}
	for deg, want := range map[float64]string{0: "0°", -0.001: "0°", 22.5: "22.5°", -45: "−45°", 67.456: "67.46°"} {
		if got := angleText(deg); got != want {
			t.Errorf("%g is written %q, want %q", deg, got, want)
		}
	}
}
