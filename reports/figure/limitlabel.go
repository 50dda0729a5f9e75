package figure

import (
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// label writes the limit's label beside its line, where it covers the least of the data: at either end or
// in the middle, on the free side or beyond the hatching. The data are drawn later, so none is hidden; a
// label under a curve would only be hard to read.
func (l limitLine) label(c *draw.Canvas, p *plot.Plot, from, to vg.Point) {
	style := textStyle(tickSize, false)
	if l.Right {
		l.Label += " (right axis)"
	}
	w, h := style.Width(l.Label), style.FontExtents().Ascent+style.FontExtents().Descent
	points := l.chart.dots(c, p)
	best, least := vg.Rectangle{}, -1
	for _, r := range l.candidates(from, to, w, h) {
		if r.Min.X < c.Min.X || r.Max.X > c.Max.X || r.Min.Y < c.Min.Y || r.Max.Y > c.Max.Y {
			continue
		}
		n := 0
		for _, p := range points {
			if p.X > r.Min.X-2 && p.X < r.Max.X+2 && p.Y > r.Min.Y-2 && p.Y < r.Max.Y+2 {
				n++
			}
		}
		if l.chart.taken.meets(r) {
			n += 1000
		}
		if least < 0 || n < least {
			best, least = r, n
		}
	}
	if least < 0 {
		return // a panel too small for the text; the caption and the limits table still say it
	}
	l.chart.taken.add(best)
	if l.chart.Grid != nil && l.chart.Grid.Map {
		c.SetColor(white)
		c.Fill(best.Path())
	}
	style.XAlign, style.YAlign = draw.XLeft, draw.YBottom
	c.FillText(style, vg.Point{X: best.Min.X, Y: best.Min.Y + style.FontExtents().Descent}, l.Label)
}

// candidates returns the places for a label of size w by h, the preferred first.
func (l limitLine) candidates(from, to vg.Point, w, h vg.Length) []vg.Rectangle {
	const gap, hatched = 2, 6
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
	if l.Vertical {
		for _, y := range []vg.Length{to.Y - h - 4, from.Y + 4, (from.Y + to.Y - h) / 2} {
			add(from.X+up, y)
			add(from.X-down-w, y)
		}
		return out
	}
	for _, x := range []vg.Length{to.X - w - 4, from.X + 4, (from.X + to.X - w) / 2} {
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
