package figure

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// label writes the limit's label beside its line, where it covers the least of the data: at either end or
// in the middle, on the free side or beyond the hatching, and where other labels leave no room there, further along the
// line. The data are drawn later, so none is hidden; a label under a curve would only be hard to read. No label covers
// another: of limits that are too many for a panel, some are not named, and the caption and the table of limits say
// them.
func (l limitLine) label(c *draw.Canvas, p *plot.Plot, from, to vg.Point) {
	style := textStyle(tickSize, false)
	if l.Right {
		l.Label += " (right axis)"
	}
	w, h := style.Width(l.Label), style.FontExtents().Ascent+style.FontExtents().Descent
	points := l.chart.dots(c, p)
	best, found := l.emptiest(c, points, l.candidates(from, to, w, h, []vg.Length{1, 0, 0.5}))
	if !found {
		best, found = l.emptiest(c, points, l.candidates(from, to, w, h,
			[]vg.Length{0.9, 0.1, 0.8, 0.2, 0.7, 0.3, 0.6, 0.4}))
	}
	if !found {
		return
	}
	l.chart.taken.add(best)
	if l.chart.Grid != nil && l.chart.Grid.Map {
		c.SetColor(white)
		c.Fill(best.Path())
	}
	style.XAlign, style.YAlign = draw.XLeft, draw.YBottom
	c.FillText(style, vg.Point{X: best.Min.X, Y: best.Min.Y + style.FontExtents().Descent}, l.Label)
}

// emptiest returns the place that covers the fewest points, the first of several, of those that lie on the canvas and
// on no other label.
func (l limitLine) emptiest(c *draw.Canvas, points []vg.Point, places []vg.Rectangle) (best vg.Rectangle, found bool) {
	least := math.MaxInt
	for _, r := range places {
		if r.Min.X < c.Min.X || r.Max.X > c.Max.X || r.Min.Y < c.Min.Y || r.Max.Y > c.Max.Y || l.chart.taken.meets(r) {
			continue
		}
		n := 0
		for _, p := range points {
			if p.X > r.Min.X-2 && p.X < r.Max.X+2 && p.Y > r.Min.Y-2 && p.Y < r.Max.Y+2 {
				n++
			}
		}
		if n < least {
			best, least = r, n
		}
	}
	return best, least < math.MaxInt
}

// candidates returns the places for a label of size w by h, the preferred first: at so much of the line from its
// beginning to its end.
func (l limitLine) candidates(from, to vg.Point, w, h vg.Length, along []vg.Length) []vg.Rectangle {
	const gap, hatched, margin = 2, 6, 4
	up, down := vg.Length(gap), vg.Length(gap)
	if l.Forbid == Above {
		up = hatched
	}
	if l.Forbid == Below {
		down = hatched
	}
	var out []vg.Rectangle
	add := func(x, y vg.Length) {
		out = append(out, vg.Rectangle{Min: vg.Point{X: x, Y: y}, Max: vg.Point{X: x + w, Y: y + h}})
	}
	for _, s := range along {
		if l.Vertical {
			y := from.Y + margin + s*(to.Y-from.Y-h-2*margin)
			add(from.X+up, y)
			add(from.X-down-w, y)
			continue
		}
		x := from.X + margin + s*(to.X-from.X-w-2*margin)
		add(x, from.Y-down-h)
		add(x, from.Y+up)
	}
	return out
}

// dots returns where the data of a chart lie on the canvas, with points between far neighbours of a curve.
func (c prepared) dots(canvas *draw.Canvas, plt *plot.Plot) []vg.Point {
	var out []vg.Point
	for _, s := range c.Series {
		t := c.mapping(s.Right).place(canvas, plt)
		var last vg.Point
		joined := false
		for i := range s.X {
			p, ok := t.at(s.X[i], s.Y[i])
			if ok && joined && s.Line != NoLine {
				const parts = 8
				for k := 1; k < parts; k++ {
					f := vg.Length(k) / parts
					out = append(out, vg.Point{X: last.X + (p.X-last.X)*f, Y: last.Y + (p.Y-last.Y)*f})
				}
			}
			if ok {
				out = append(out, p)
			}
			last, joined = p, ok
		}
	}
	t := c.logs().place(canvas, plt)
	for _, b := range c.Bands {
		for i := range b.X {
			for _, v := range []float64{b.Low[i], b.High[i]} {
				if p, ok := t.at(b.X[i], v); ok {
					out = append(out, p)
				}
			}
		}
	}
	return out
}
