package drawing

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// conditions writes wavelength and temperature.
func (d *Drawing) conditions() string {
	return fmt.Sprintf("%.6g nm, %s °C", float64(d.wavelength/quantity.Nanometre),
		minus(fmt.Sprintf("%.4g", d.temperature.Celsius()+0)))
}

// caption says how to read the side views, and what they leave out.
func (d *Drawing) caption() string {
	s := "The stack from the side at " + d.conditions() +
		": to scale, and the chief rays of each direction with the transverse scale stretched. Numbers under the " +
		"faces count them along +z. Beside each arrival stand the path, a letter for each crystal in the order the " +
		"light meets them; the power it carries, from what was launched; and how far its chief ray arrives from the " +
		"axis of the collimator there, in the plane of its lens face."
	if d.tilted() {
		s += " Where two numbers stand, the first is what this view shows and the second the whole."
	}
	if d.interferes() {
		s += " Paths that arrive together interfere: their fields add, not their powers."
	}
	for _, b := range []bundle{d.forward, d.backward} {
		s += b.omitted()
	}
	if !d.stated() {
		s += " Heights of parts are not part of the design."
	}
	return s
}

// tilted reports whether a dimensioned path leaves the plane of the side views.
func (d *Drawing) tilted() bool {
	out := func(x, y float64) bool {
		v := r3.Vec{X: x, Y: y}
		return math.Abs(d.along(v)) < inView*r3.Norm(v)
	}
	for _, b := range []bundle{d.forward, d.backward} {
		for _, t := range b.main() {
			if out(t.Offset.X, t.Offset.Y) || float64(t.Angle()) > off && out(t.Tilt.X, t.Tilt.Y) {
				return true
			}
		}
	}
	return false
}

// interferes reports whether strong paths of one direction arrive at one place.
func (d *Drawing) interferes() bool {
	for _, b := range []bundle{d.forward, d.backward} {
		for _, a := range d.stretched(b).gather() {
			if len(a.lines) > 2 {
				return true
			}
		}
	}
	return false
}

// stated reports whether every part has a clear aperture.
func (d *Drawing) stated() bool {
	for _, p := range d.out.Parts {
		if p.Faces[0].Aperture == 0 {
			return false
		}
	}
	return true
}

// omitted says what is not drawn.
func (b bundle) omitted() string {
	var parts []string
	if b.faint > 0 {
		parts = append(parts, fmt.Sprintf("%s that %s less than −%d dB of the power launched", paths(b.faint),
			verb(b.faint, "carries", "carry"), faintest))
	}
	if b.crowded > 0 {
		parts = append(parts, fmt.Sprintf("%s weaker than the %d drawn, the strongest at %s dB", paths(b.crowded), most,
			level(b.greatest)))
	}
	if parts == nil {
		return ""
	}
	return fmt.Sprintf(" Not drawn %s: %s.", b.direction, strings.Join(parts, "; "))
}

func paths(n int) string {
	if n == 1 {
		return "1 path"
	}
	return fmt.Sprintf("%d paths", n)
}

func verb(n int, one, more string) string {
	if n == 1 {
		return one
	}
	return more
}

// describeRays says in words what the side views show.
func (d *Drawing) describeRays() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Side view in the %s, at %s. ", d.view, d.conditions())
	n := 0
	for i, p := range d.out.Parts {
		if i > 0 {
			b.WriteString(", ")
		}
		first, last := p.Faces[0].Z*1e3, p.Faces[len(p.Faces)-1].Z*1e3
		if len(p.Faces) == 1 {
			fmt.Fprintf(&b, "%s at z %s mm (face %d)", p.Label, millimetres(first), n+1)
		} else {
			fmt.Fprintf(&b, "%s from z %s to %s mm (faces %d to %d)", p.Label, millimetres(first), millimetres(last),
				n+1, n+len(p.Faces))
		}
		n += len(p.Faces)
		for i, m := range p.Magnets {
			if i > 0 {
				b.WriteString(" and")
			}
			fmt.Fprintf(&b, " in a magnet of bore radius %s mm, its north pole towards %s",
				figures(float64(m.Inner)*1e3), pointing(m.Remanence))
		}
	}
	fmt.Fprintf(&b, ". Lens faces at z %s and %s mm.", millimetres(d.out.Launching*1e3),
		millimetres(d.out.Receiving*1e3))
	for _, s := range []bundle{d.forward, d.backward} {
		b.WriteString(" " + s.describe())
	}
	return b.String()
}

func millimetres(z float64) string { return minus(fmt.Sprintf("%.3f", z+0)) }

func pointing(sign float64) string {
	if sign < 0 {
		return "−z"
	}
	return "+z"
}

// describe says what a reader would take from the view of one direction.
func (b bundle) describe() string {
	name, to := "Forward", "receiving"
	if b.direction == stack.Backward {
		name, to = "Backward", "launching"
	}
	if len(b.drawn) == 0 {
		return name + ": no path to draw." + b.omitted()
	}
	var all []string
	for _, t := range b.drawn {
		all = append(all, fmt.Sprintf("%s carries %s dB, arrives %.1f µm off at %.3f°", t.Label, level(t.Sent),
			math.Hypot(t.Offset.X, t.Offset.Y)*micrometres, float64(t.Angle())*degrees))
	}
	return fmt.Sprintf("%s, at the %s lens face and from its axis: %s.%s", name, to, strings.Join(all, "; "),
		b.omitted())
}
