package document

import (
	"math"

	"golang.org/x/image/math/fixed"
	"gonum.org/v1/plot/vg"
)

// stretch is a line without a gap, in 64ths of a pixel. There is a point at least.
type stretch struct {
	points []fixed.Point26_6
	closed bool
}

// flat is how far, in pixels, a curve may lie off the lines that stand for it.
const flat = 0.05

// trace turns a path into lines.
func (c *rasterCanvas) trace(path vg.Path) []stretch {
	var all []stretch
	to := func(p vg.Point) {
		if len(all) == 0 {
			all = append(all, stretch{})
		} else if before := all[len(all)-1]; before.closed { // what follows leads on from where the line was closed
			all = append(all, stretch{points: before.points[:1:1]})
		}
		s := &all[len(all)-1]
		if q := c.place(p); len(s.points) == 0 || q != s.points[len(s.points)-1] {
			s.points = append(s.points, q)
		}
	}
	var last vg.Point
	for _, comp := range path {
		switch comp.Type {
		case vg.MoveComp:
			all = append(all, stretch{})
			to(comp.Pos)
		case vg.LineComp:
			to(comp.Pos)
		case vg.ArcComp:
			radius := float64(comp.Radius) * c.scale() * pixelsPerPoint
			n := pieces(math.Abs(comp.Angle) * math.Sqrt(radius/(8*flat)))
			for i := range n + 1 {
				s, k := math.Sincos(comp.Start + comp.Angle*float64(i)/float64(n))
				last = vg.Point{X: comp.Pos.X + comp.Radius*vg.Length(k), Y: comp.Pos.Y + comp.Radius*vg.Length(s)}
				to(last)
			}
			continue
		case vg.CurveComp:
			points := append(append([]vg.Point{last}, comp.Control...), comp.Pos)
			if len(all) == 0 { // the first of a path begins where it is led to, as in SVG
				points[0] = points[1]
			}
			reach := 0.0
			for i := 1; i < len(points); i++ {
				reach += math.Hypot(float64(points[i].X-points[i-1].X), float64(points[i].Y-points[i-1].Y))
			}
			n := pieces(math.Sqrt(reach * c.scale() * pixelsPerPoint / flat))
			for i := range n {
				to(bezier(points, float64(i+1)/float64(n)))
			}
		case vg.CloseComp:
			if len(all) > 0 {
				all[len(all)-1].closed = true
			}
			continue
		}
		last = comp.Pos
	}
	return all
}

// pieces is how many lines a curve becomes; a number that is whole but for its last bit stays that number.
func pieces(n float64) int { return int(min(max(math.Ceil(n-1e-6), 2), 256)) }

// bezier is the point of a curve at a share of it, by de Casteljau's construction.
func bezier(points []vg.Point, t float64) vg.Point {
	var between [4]vg.Point
	n := copy(between[:], points)
	for ; n > 1; n-- {
		for i := range n - 1 {
			a, b := between[i], between[i+1]
			between[i] = vg.Point{X: a.X + vg.Length(t)*(b.X-a.X), Y: a.Y + vg.Length(t)*(b.Y-a.Y)}
		}
	}
	return between[0]
}
