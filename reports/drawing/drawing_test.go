package drawing

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
)

// The drawing of a single stage shows two straight paths forward and two rejected ones backward, at the angle that
// first order gives: (ne - no) times the apex, 1.02 deg for YVO4 at 5 deg.
func TestRaysOfASingleStage(t *testing.T) {
	c, err := material.Named("YVO4")
	if err != nil {
		t.Fatal(err)
	}
	g, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	const deg = math.Pi / 180
	w := element.Wedge{Crystal: c, Slanted: element.Front, Apex: 5 * deg, Thickness: 0.5e-3, Axis: 22.5 * deg}
	v := w
	v.Slanted, v.Axis = element.Back, 67.5*deg
	room := quantity.Celsius(23)
	r := element.Rotator{Garnet: g, Angle: 45 * deg, At: 1550e-9, Temperature: room}
	gap := element.Gap{Length: 0.1e-3}
	s, err := stack.New(stack.Spec{Elements: []element.Element{w, gap, r, gap, v},
		Beam: element.Collimator{Waist: 200e-6, WorkingDistance: 6e-3}, AlignAt: 1550e-9, AlignTemperature: room})
	if err != nil {
		t.Fatal(err)
	}
	f, err := Rays(s, 1550e-9, room)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"azimuth 0°", "Forward, at the receiving lens, from the axis of its collimator: oo 0.001°", "ee 0.001°", "eo 1.02", "oe 1.02", "less than a thousandth"} {
		if !strings.Contains(f.Caption, want) {
			t.Errorf("the caption does not say %q:\n%s", want, f.Caption)
		}
	}
	if _, err := document.SVG(f); err != nil {
		t.Errorf("it cannot be drawn: %v", err)
	}
	ends := Ends(s, room)
	for _, want := range []string{"wedge1: 22.5° at 22.5°; mark at 0°; optic axis", "rotator1: in at 0°; +45° at 45°; turns light along x, both ways", "wedge2: 67.5° at 67.5°"} {
		if !strings.Contains(ends.Text, want) {
			t.Errorf("the end-on views do not say %q: %s", want, ends.Text)
		}
	}
	if _, err := document.SVG(ends); err != nil {
		t.Errorf("they cannot be drawn: %v", err)
	}
}
