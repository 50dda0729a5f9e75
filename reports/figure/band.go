package figure

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// runs returns the stretches of a band without gaps, as points along the lower and the upper edge.
func (b Band) runs(t place) (low, high [][]vg.Point) {
	var lo, hi []vg.Point
	flush := func() {
		if len(lo) > 1 {
			low, high = append(low, lo), append(high, hi)
		}
		lo, hi = nil, nil
	}
	for i := range b.X {
		l, okl := t.at(b.X[i], b.Low[i])
		h, okh := t.at(b.X[i], b.High[i])
		if !okl || !okh {
			flush()
			continue
		}
		lo, hi = append(lo, l), append(hi, h)
	}
	flush()
	return low, high
}

type bandFill struct {
	Band
	logs
}

func (b bandFill) Plot(c draw.Canvas, p *plot.Plot) {
	low, high := b.runs(b.place(&c, p))
	for k := range low {
		poly := append([]vg.Point(nil), high[k]...)
		for i := len(low[k]) - 1; i >= 0; i-- {
			poly = append(poly, low[k][i])
		}
		if poly = c.ClipPolygonXY(poly); len(poly) > 2 {
			c.FillPolygon(tint(b.Color.rgba(), 0.2), poly)
		}
	}
}

type bandEdge struct {
	Band
	logs
}

func (b bandEdge) Plot(c draw.Canvas, p *plot.Plot) {
	low, high := b.runs(b.place(&c, p))
	c.SetLineStyle(draw.LineStyle{Color: tint(b.Color.rgba(), 0.6), Width: thin})
	stroke(&c, append(low, high...))
}

// limitLine draws a limit, its hatching and its label.
type limitLine struct {
	Limit
	chart prepared
}

// mostHatched is how many limits of a panel are drawn with their forbidden sides: a choice. The hatching of many would be
// one black field.
const mostHatched = 8

func (l limitLine) Plot(c draw.Canvas, p *plot.Plot) {
	t := l.chart.mapping(l.Right).place(&c, p)
	from, to := l.ends(&c, t)
	if from == to {
		return // outside the panel
	}
	color := ink
	if l.Color != AutoColor {
		color = l.Color.rgba()
	}
	width, crowd := vg.Length(1.4), len(l.chart.Limits) > mostHatched
	if crowd {
		width = thin
	}
	c.SetLineStyle(draw.LineStyle{Color: color, Width: width})
	c.StrokeLines(draw.LineStyle{Color: color, Width: width}, []vg.Point{from, to})
	if !crowd {
		l.hatch(&c, from, to, draw.LineStyle{Color: color, Width: thin})
	}
	if l.Label != "" {
		l.label(&c, p, from, to)
	}
}

// ends returns the two ends of the line within the canvas, equal when it lies outside.
func (l limitLine) ends(c *draw.Canvas, t place) (from, to vg.Point) {
	if l.Vertical {
		x, y0, y1 := t.x(l.At), c.Min.Y, c.Max.Y
		if l.From != 0 || l.To != 0 {
			y0, y1 = max(y0, t.y(l.From)), min(y1, t.y(l.To))
		}
		if x < c.Min.X || x > c.Max.X || y0 >= y1 {
			return vg.Point{}, vg.Point{}
		}
		return vg.Point{X: x, Y: y0}, vg.Point{X: x, Y: y1}
	}
	y, x0, x1 := t.y(l.At), c.Min.X, c.Max.X
	if l.From != 0 || l.To != 0 {
		x0, x1 = max(x0, t.x(l.From)), min(x1, t.x(l.To))
	}
	if y < c.Min.Y || y > c.Max.Y || x0 >= x1 {
		return vg.Point{}, vg.Point{}
	}
	return vg.Point{X: x0, Y: y}, vg.Point{X: x1, Y: y}
}

// hatch draws short slanted strokes on the forbidden side.
func (l limitLine) hatch(c *draw.Canvas, from, to vg.Point, style draw.LineStyle) {
	if l.Forbid == Neither {
		return
	}
	const pitch, deep = 6, 4
	side := vg.Length(deep)
	if l.Forbid == Below {
		side = -deep
	}
	n := int(math.Floor(float64((to.X-from.X)+(to.Y-from.Y)) / pitch))
	var path vg.Path
	for i := range n {
		d := (vg.Length(i) + 0.75) * pitch
		a, b := vg.Point{X: from.X + d, Y: from.Y}, vg.Point{X: from.X + d - deep, Y: from.Y + side}
		if l.Vertical {
			a, b = vg.Point{X: from.X, Y: from.Y + d}, vg.Point{X: from.X + side, Y: from.Y + d - deep}
		}
		if inside(c, a) && inside(c, b) {
			path.Move(a)
			path.Line(b)
		}
	}
	c.SetLineStyle(style)
	if len(path) > 0 {
		c.Stroke(path)
	}
}
