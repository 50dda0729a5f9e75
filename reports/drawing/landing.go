package drawing

import (
	"fmt"
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"

	"wedgework/optics/stack"
	"wedgework/reports/figure"
)

// landing is the lens face that light of a direction arrives at, with the places where its rays land.
func (d *Drawing) landing(b bundle) view {
	name := "receiving"
	if b.direction == stack.Backward {
		name = "launching"
	}
	v := view{title: name + " lens face", notes: []string{b.direction.String() + " light"}}
	main := b.main()
	if len(main) == 0 {
		v.notes = append(v.notes, "no strong path")
		v.draw = func(s *sheet, c vg.Point) {
			s.outline(ink, 1, ring(c, disc)...)
			s.cross(c, disc)
		}
		return v
	}
	mode := main[0].Radius(0)
	v.notes = append(v.notes, fmt.Sprintf("circle: radius %s µm", figures(mode*micrometres)))
	if t := farthest(main); d.out.Focal > 0 && float64(t.Angle()) > off {
		// The lens turns an angle into an offset in its focal plane, where the fibre ends.
		v.notes = append(v.notes, fmt.Sprintf("%s: %s µm off the fibre", t.Label,
			tenths(d.out.Focal*math.Tan(float64(t.Angle()))*micrometres)))
	}
	v.draw = func(s *sheet, c vg.Point) { landings(s, c, main, mode) }
	return v
}

func farthest(all []stack.Trace) stack.Trace {
	best := all[0]
	for _, t := range all {
		if t.Angle() > best.Angle() {
			best = t
		}
	}
	return best
}

func landings(s *sheet, c vg.Point, all []stack.Trace, mode float64) {
	reach := mode
	for _, t := range all {
		reach = max(reach, math.Hypot(t.Offset.X, t.Offset.Y)+t.Radius(t.Reduced[len(t.Reduced)-1]))
	}
	scale := float64(viewRoom-4) / reach
	where := func(t stack.Trace) vg.Point {
		return at(c.X+vg.Length(t.Offset.X*scale), c.Y+vg.Length(t.Offset.Y*scale))
	}
	r := vg.Length(mode * scale)
	s.cross(c, viewRoom-4)
	s.circle(ink, 1, nil, c, r)
	for _, t := range all {
		s.circle(grey, 0.6, []vg.Length{3, 2}, where(t), vg.Length(t.Radius(t.Reduced[len(t.Reduced)-1])*scale))
	}
	for _, g := range grouped(all, where) {
		s.mark(g, c)
	}
}

// circle strokes a circle that text keeps clear of.
func (s *sheet) circle(col color.Color, width vg.Length, dash []vg.Length, c vg.Point, r vg.Length) {
	pts := ring(c, r)
	pts = append(pts, pts[0])
	s.stroke(col, width, dash, pts...)
	for i := 1; i < len(pts); i++ {
		s.lines = append(s.lines, [2]vg.Point{pts[i-1], pts[i]})
	}
}

// spot is where rays land, and their names.
type spot struct {
	p      vg.Point
	labels []string
}

// grouped gives rays that land together one mark.
func grouped(all []stack.Trace, where func(stack.Trace) vg.Point) []spot {
	var spots []spot
next:
	for _, t := range all {
		p := where(t)
		for i, g := range spots {
			if math.Hypot(float64(g.p.X-p.X), float64(g.p.Y-p.Y)) < 4 {
				spots[i].labels = append(g.labels, t.Label)
				continue next
			}
		}
		spots = append(spots, spot{p, []string{t.Label}})
	}
	return spots
}

// label names the rays, or one of them and how many more there are.
func (g spot) label() string {
	if n := len(g.labels); n > 2 {
		return fmt.Sprintf("%s and %d more", g.labels[0], n-1)
	}
	return strings.Join(g.labels, ", ")
}

// mark draws a spot and its label, with a leader when the free place for it is farther off.
func (s *sheet) mark(g spot, c vg.Point) {
	s.fill(white, ring(g.p, 2.6)...)
	s.fill(figure.Black.NRGBA(), ring(g.p, 1.8)...)
	s.texts = append(s.texts, vg.Rectangle{Min: at(g.p.X-2, g.p.Y-2), Max: at(g.p.X+2, g.p.Y+2)})
	within := vg.Rectangle{Min: at(c.X-viewRoom, c.Y-viewRoom), Max: at(c.X+viewRoom, c.Y+viewRoom)}
	var near []place
	for _, gap := range []vg.Length{5, 8} {
		for _, up := range []vg.Length{1, -1} {
			near = append(near, place{at(g.p.X+gap, g.p.Y+up*gap), left}, place{at(g.p.X-gap, g.p.Y+up*gap), right},
				place{at(g.p.X, g.p.Y+up*(gap+3)), centre})
		}
	}
	if s.find(g.label(), within, near) {
		return
	}
	for dy := vg.Length(14); dy < 2*viewRoom; dy += 3 {
		for _, up := range []vg.Length{1, -1} {
			for _, dx := range []vg.Length{0, 12, -12, 24, -24} {
				p := at(g.p.X+dx, g.p.Y+up*dy)
				if s.find(g.label(), within, []place{{p, centre}}) {
					s.ray(grey, hair, nil, g.p, at(p.X, p.Y-up*5))
					return
				}
			}
		}
	}
}
