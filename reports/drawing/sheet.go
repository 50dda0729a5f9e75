package drawing

import (
	"errors"
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"wedgework/reports/figure"
)

const (
	textSize  vg.Length = 8
	titleSize vg.Length = 9
	hair      vg.Length = 0.5 // axes, leaders, dimensions
	lineStep  vg.Length = 9.5 // from one line of text to the next
)

var (
	white = color.NRGBA{0xFF, 0xFF, 0xFF, 0xFF}
	ink   = figure.Ink()
	grey  = figure.Grey.NRGBA()
)

// sheet is a canvas that remembers what has been drawn, so that text finds a free place. Places are in points, y up.
type sheet struct {
	c     draw.Canvas
	texts []vg.Rectangle
	lines [][2]vg.Point
}

// onSheet draws with d on a white ground of the size w by h for which d lays things out, scaled to fit the canvas.
func onSheet(canvas vg.CanvasSizer, w, h vg.Length, d func(*sheet)) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("drawing: %v", r)
		}
	}()
	have, high := canvas.Size()
	scale := min(float64(have/w), float64(high/h))
	if !(scale > 0) {
		return errors.New("drawing: the canvas has no room")
	}
	c := draw.New(canvas)
	// The ground is drawn, not assumed: in a dark notebook the ink would vanish.
	c.SetColor(white)
	c.Fill(c.Rectangle.Path())
	c.Push()
	c.Translate(vg.Point{X: (have - w*vg.Length(scale)) / 2, Y: (high - h*vg.Length(scale)) / 2})
	c.Scale(scale, scale)
	c.Rectangle = vg.Rectangle{Max: vg.Point{X: w, Y: h}}
	d(&sheet{c: c})
	c.Pop()
	return nil
}

func at(x, y vg.Length) vg.Point { return vg.Point{X: x, Y: y} }

// polar returns the point at a distance and an angle in radians, counterclockwise from the right.
func polar(p vg.Point, r vg.Length, angle float64) vg.Point {
	s, c := math.Sincos(angle)
	return vg.Point{X: p.X + r*vg.Length(c), Y: p.Y + r*vg.Length(s)}
}

func (s *sheet) stroke(col color.Color, width vg.Length, dash []vg.Length, pts ...vg.Point) {
	s.c.StrokeLines(draw.LineStyle{Color: col, Width: width, Dashes: dash}, pts)
}

// ray strokes a line that text keeps clear of.
func (s *sheet) ray(col color.Color, width vg.Length, dash []vg.Length, a, b vg.Point) {
	s.stroke(col, width, dash, a, b)
	s.lines = append(s.lines, [2]vg.Point{a, b})
}

func (s *sheet) fill(col color.Color, pts ...vg.Point) {
	var p vg.Path
	p.Move(pts[0])
	for _, q := range pts[1:] {
		p.Line(q)
	}
	p.Close()
	s.c.SetColor(col)
	s.c.Fill(p)
}

// outline strokes a closed line.
func (s *sheet) outline(col color.Color, width vg.Length, pts ...vg.Point) {
	s.stroke(col, width, nil, append(pts, pts[0])...)
}

// ring returns points all around a circle.
func ring(p vg.Point, r vg.Length) []vg.Point {
	const parts = 72
	pts := make([]vg.Point, parts)
	for i := range pts {
		pts[i] = polar(p, r, 2*math.Pi*float64(i)/parts)
	}
	return pts
}

// arc returns points from one angle to another, in radians.
func arc(p vg.Point, r vg.Length, from, to float64) []vg.Point {
	n := max(2, int(math.Ceil(math.Abs(to-from)/(math.Pi/36))))
	pts := make([]vg.Point, n+1)
	for i := range pts {
		pts[i] = polar(p, r, from+(to-from)*float64(i)/float64(n))
	}
	return pts
}

// head fills the head of an arrow that points along an angle.
func (s *sheet) head(col color.Color, tip vg.Point, angle float64, size vg.Length) {
	s.fill(col, tip, polar(tip, size, angle+math.Pi-0.32), polar(tip, size, angle+math.Pi+0.32))
}

// direction returns the angle of the way from a to b.
func direction(a, b vg.Point) float64 { return math.Atan2(float64(b.Y-a.Y), float64(b.X-a.X)) }

// dimension strokes a line with a head at either end; a short one gets none, where they would meet.
func (s *sheet) dimension(pts ...vg.Point) {
	s.stroke(ink, hair, nil, pts...)
	n, length := len(pts)-1, 0.0
	for i := range n {
		length += math.Hypot(float64(pts[i+1].X-pts[i].X), float64(pts[i+1].Y-pts[i].Y))
	}
	if length > 10 {
		s.head(ink, pts[0], direction(pts[min(1, n)], pts[0]), 4)
		s.head(ink, pts[n], direction(pts[n-1], pts[n]), 4)
	}
}

// align is which point of a text is placed: its middle in height, and its left end, middle or right end.
type align float64

const (
	left   align = 0
	centre align = -0.5
	right  align = -1
)

func width(text string, size vg.Length, bold bool) vg.Length {
	return figure.TextStyle(size, bold).Width(text)
}

func box(text string, p vg.Point, a align, bold bool) vg.Rectangle {
	w := width(text, textSize, bold)
	x := p.X + w*vg.Length(a)
	return vg.Rectangle{Min: at(x, p.Y-textSize*0.48), Max: at(x+w, p.Y+textSize*0.48)}
}

// write puts text with its middle at the height of p.
func (s *sheet) write(text string, p vg.Point, a align) { s.set(text, p, a, textSize, false, ink) }

// title is bold and a step larger.
func (s *sheet) title(text string, p vg.Point, a align) { s.set(text, p, a, titleSize, true, ink) }

func (s *sheet) set(text string, p vg.Point, a align, size vg.Length, bold bool, col color.Color) {
	if text == "" {
		return
	}
	style := figure.TextStyle(size, bold)
	style.Color, style.XAlign = col, draw.XAlignment(a)
	// gonum sets the baseline at the given height plus size less ascent; capitals stand 0.72 of the size high.
	base := p.Y - 0.35*size
	s.c.FillText(style, at(p.X, base-(size-style.FontExtents().Ascent)), text)
	s.texts = append(s.texts, box(text, p, a, bold))
}

// place is where a text may stand.
type place struct {
	p vg.Point
	a align
}

// find writes text at the first of the places where it covers neither text nor ray, and reports whether there was one.
func (s *sheet) find(text string, within vg.Rectangle, places []place) bool {
	for _, q := range places {
		r := box(text, q.p, q.a, false)
		if r.Min.X < within.Min.X || r.Max.X > within.Max.X || r.Min.Y < within.Min.Y || r.Max.Y > within.Max.Y ||
			s.covers(r) {
			continue
		}
		s.write(text, q.p, q.a)
		return true
	}
	return false
}

// covers reports whether a rectangle touches text or ray.
func (s *sheet) covers(r vg.Rectangle) bool {
	const air = 1
	r = vg.Rectangle{Min: at(r.Min.X-air, r.Min.Y-air), Max: at(r.Max.X+air, r.Max.Y+air)}
	for _, o := range s.texts {
		if o.Min.X < r.Max.X && r.Min.X < o.Max.X && o.Min.Y < r.Max.Y && r.Min.Y < o.Max.Y {
			return true
		}
	}
	for _, l := range s.lines {
		if crosses(l[0], l[1], r) {
			return true
		}
	}
	return false
}

// crosses reports whether the line from a to b passes through r: it clips the line by each side in turn.
func crosses(a, b vg.Point, r vg.Rectangle) bool {
	from, to := 0.0, 1.0
	for _, side := range [4][2]vg.Length{
		{a.X - b.X, a.X - r.Min.X}, {b.X - a.X, r.Max.X - a.X},
		{a.Y - b.Y, a.Y - r.Min.Y}, {b.Y - a.Y, r.Max.Y - a.Y},
	} {
		d, q := float64(side[0]), float64(side[1])
		switch {
		case d == 0 && q < 0:
			return false
		case d < 0:
			from = max(from, q/d)
		case d > 0:
			to = min(to, q/d)
		}
	}
	return from <= to
}

// spread moves sorted places apart so that each has its own room, keeping their order, with the least squares of the
// moves: taking the rooms before each off turns that into a regression that only has to rise, which pooling neighbours
// that fall solves. Then all are kept between lo and hi as far as they fit.
func spread(want, room []vg.Length, lo, hi vg.Length) []vg.Length {
	type pool struct {
		sum vg.Length
		n   int
	}
	before := make([]vg.Length, len(want)) // the distance each keeps from the first, at least
	var pools []pool
	for i, w := range want {
		if i > 0 {
			before[i] = before[i-1] + (room[i-1]+room[i])/2
		}
		pools = append(pools, pool{w - before[i], 1})
		for k := len(pools) - 1; k > 0 && pools[k].sum*vg.Length(pools[k-1].n) < pools[k-1].sum*vg.Length(pools[k].n); k-- {
			pools[k-1] = pool{pools[k-1].sum + pools[k].sum, pools[k-1].n + pools[k].n}
			pools = pools[:k]
		}
	}
	var out []vg.Length
	for _, p := range pools {
		for range p.n {
			i := len(out)
			least := lo + room[0]/2 + before[i]
			most := hi - room[len(room)-1]/2 - (before[len(before)-1] - before[i])
			out = append(out, max(least, min(most, p.sum/vg.Length(p.n)+before[i])))
		}
	}
	return out
}
