package drawing

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"wedgework/optics/stack"
	"wedgework/reports/figure"
)

// azimuth returns where a vector points, in degrees.
func azimuth(v r3.Vec) float64 { return math.Atan2(v.Y, v.X) * degrees }

// angleText writes an angle in degrees to a hundredth, without idle zeros and without a negative zero.
func angleText(deg float64) string {
	return minus(fmt.Sprintf("%g°", math.Round(deg*100)/100+0))
}

// minus puts a proper minus sign before a negative number.
func minus(s string) string {
	if s[0] == '-' {
		return "−" + s[1:]
	}
	return s
}

// leaning is the least angle of a face that is written, in radians: half of the last digit. A cut plate leans less as
// it expands.
const leaning = 0.005 / degrees

// mark is drawn over a part, around its centre.
type mark func(*sheet, vg.Point)

// partView is a part end on.
func partView(p stack.Outlined) view {
	v := view{title: p.Label}
	if p.Material != "" {
		v.notes = append(v.notes, p.Material)
	}
	var marks []mark
	if len(p.Magnets) > 0 {
		marks = append(marks, func(s *sheet, c vg.Point) { magnetRing(s, c, p) })
	}
	if note, m := polarizing(p); note != "" {
		v.notes, marks = append(v.notes, note), append(marks, m)
	}
	if p.Field != 0 {
		way := "+z"
		if p.Field < 0 {
			way = "−z"
		}
		v.notes = append(v.notes, fmt.Sprintf("field %s mT to %s", figures(math.Abs(p.Field)*1e3), way))
	}
	if taper, thick := p.Taper(); taper > leaning {
		a := thick*degrees + 0
		v.notes[0] += ", apex " + angleText(taper*degrees)
		v.notes = append(v.notes, "thickest at "+angleText(a))
		marks = append(marks, func(s *sheet, c vg.Point) { orientation(s, c, a) })
	} else if n := p.Faces[0].Normal; math.Hypot(n.X, n.Y) > leaning {
		v.notes = append(v.notes, fmt.Sprintf("leans %s to %s", angleText(math.Acos(min(1, n.Z))*degrees),
			angleText(azimuth(n))))
	}
	v.draw = func(s *sheet, c vg.Point) {
		s.fill(tintOf(p), ring(c, disc)...)
		s.outline(grey, 0.8, ring(c, disc)...)
		s.cross(c, disc)
		for _, m := range marks {
			m(s, c)
		}
	}
	return v
}

// polarizing says what a part does to polarization, in words and as a mark: an optic axis, a direction that passes, a
// rotation. It says nothing of a part that does nothing to it.
func polarizing(p stack.Outlined) (note string, m mark) {
	flat := r3.Vec{X: p.Axis.X, Y: p.Axis.Y}
	switch {
	case r3.Norm(flat) > 1e-6:
		a := axisAzimuth(p.Axis)
		rise := math.Asin(math.Abs(p.Axis.Z)) * degrees
		if rise <= 0.01 {
			return "optic axis at " + angleText(a), func(s *sheet, c vg.Point) { lineAt(s, c, a, false, figure.Blue) }
		}
		a = azimuth(p.Axis) // towards the end that points along +z
		if p.Axis.Z < 0 {
			a = azimuth(r3.Scale(-1, p.Axis))
		}
		a += 0
		return "axis at " + angleText(a) + ", " + angleText(90-rise) + " to +z",
			func(s *sheet, c vg.Point) { lineAt(s, c, a, true, figure.Blue) }
	case p.Axis != (r3.Vec{}):
		return "optic axis along z", func(s *sheet, c vg.Point) { s.toEye(c, true) }
	case p.Pass != (r3.Vec{}):
		a := axisAzimuth(p.Pass)
		return "passes " + angleText(a), func(s *sheet, c vg.Point) { lineAt(s, c, a, false, figure.Green) }
	case p.Rotation != 0:
		turn := p.Rotation * degrees
		// In a magnet there is no room for the angle at the rim; the note beneath has it.
		return "turns by " + signed(turn), func(s *sheet, c vg.Point) { turnArrow(s, c, turn, len(p.Magnets) == 0) }
	}
	return "", nil
}

// axisAzimuth returns the azimuth of an axis that has no head, from 0 up to 180 degrees.
func axisAzimuth(v r3.Vec) float64 {
	a := azimuth(v)
	if a < -1e-9 {
		a += 180
	}
	if a > 180-1e-9 {
		a -= 180
	}
	return max(0, a)
}

// signed writes an angle with its sense.
func signed(deg float64) string {
	if deg > 0 {
		return "+" + angleText(deg)
	}
	return angleText(deg)
}

// cross draws the axes x and y through a view.
func (s *sheet) cross(c vg.Point, r vg.Length) {
	s.stroke(grey, 0.35, nil, at(c.X-r, c.Y), at(c.X+r, c.Y))
	s.stroke(grey, 0.35, nil, at(c.X, c.Y-r), at(c.X, c.Y+r))
}

// lineAt draws an axis across a part with its angle from +x: a head at either end, or, where it rises out of the plane,
// only at the end that points along +z.
func lineAt(s *sheet, c vg.Point, deg float64, rises bool, col figure.Color) {
	a := deg / degrees
	tip, tail := polar(c, disc-3, a), polar(c, 3-disc, a)
	s.stroke(col.NRGBA(), 1.4, nil, tip, tail)
	s.head(col.NRGBA(), tip, a, 7)
	if rises {
		s.outline(col.NRGBA(), 1, ring(tail, 2)...)
	} else {
		s.head(col.NRGBA(), tail, a+math.Pi, 7)
	}
	if math.Abs(deg) > 0.005 {
		s.dimension(arc(c, disc*0.5, 0, a)...)
	}
	s.write(angleText(deg), beside(c, a, deg), centre)
}

// beside is where an angle is written at the rim: wide of it where the text is wide.
func beside(c vg.Point, angle, deg float64) vg.Point {
	w := width(angleText(deg), textSize, false) / 2
	p := polar(c, disc+5, angle)
	return at(p.X+w*vg.Length(math.Cos(angle)), p.Y+textSize/2*vg.Length(math.Sin(angle)))
}

// orientation draws the mark that tells how to turn a wedge.
func orientation(s *sheet, c vg.Point, deg float64) {
	a := deg / degrees
	tip := polar(c, disc-7, a)
	base := polar(c, disc+1, a)
	s.fill(figure.Black.NRGBA(), tip, polar(base, 4.5, a+math.Pi/2), polar(base, 4.5, a-math.Pi/2))
}

// turnArrow shows what becomes of light polarized along x.
func turnArrow(s *sheet, c vg.Point, deg float64, written bool) {
	a := deg / degrees
	col := figure.Purple.NRGBA()
	s.stroke(ink, 0.8, []vg.Length{2, 2}, polar(c, disc-3, math.Pi), polar(c, disc-3, 0))
	s.stroke(ink, 1.2, nil, polar(c, 3-disc, a), polar(c, disc-3, a))
	const r = disc * 0.62
	s.stroke(col, 1.6, nil, arc(c, r, 0, a)...)
	s.head(col, polar(c, r, a), a+math.Copysign(math.Pi/2, deg)-math.Copysign(0.15, deg), 7)
	if written {
		s.write(signed(deg), beside(c, a, deg), centre)
	}
}

// magnetRing draws the end of a magnet that faces the eye, with its pole, and the field in its bore. Not to scale.
func magnetRing(s *sheet, c vg.Point, p stack.Outlined) {
	const r = disc + 11
	s.outline(grey, 2.2, ring(c, r)...)
	pole := "N"
	if p.Magnets[len(p.Magnets)-1].Remanence < 0 {
		pole = "S"
	}
	for _, a := range []float64{-math.Pi / 4, -3 * math.Pi / 4} {
		q := polar(c, r, a)
		s.fill(white, ring(q, 5.5)...)
		s.outline(grey, 0.8, ring(q, 5.5)...)
		s.write(pole, q, centre)
	}
	q := polar(c, disc+5.5, -math.Pi/2)
	s.toEye(at(q.X-5, q.Y), p.Field > 0)
	s.write("B", at(q.X+4, q.Y), centre)
}
