package figure

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// curve draws the line and the markers of a series, each as one path however many points there are: it is
// the smaller file and the faster page.
type curve struct {
	Series
	logs
}

func (s curve) Plot(c draw.Canvas, p *plot.Plot) {
	t := s.place(&c, p)
	if s.Line != NoLine {
		var runs [][]vg.Point
		var run []vg.Point
		for i := range s.X {
			pt, ok := t.at(s.X[i], s.Y[i])
			if !ok {
				runs = append(runs, run)
				run = nil
				continue
			}
			run = append(run, pt)
		}
		runs = append(runs, run)
		c.SetLineStyle(draw.LineStyle{Color: s.Color.rgba(), Width: s.Width, Dashes: s.Line.dashes()})
		stroke(&c, runs)
	}
	if s.Marker != NoMarker {
		r := s.radius(c.Size().X)
		var path vg.Path
		for i := range s.X {
			if pt, ok := t.at(s.X[i], s.Y[i]); ok && inside(&c, pt) {
				s.Marker.add(&path, pt, r)
			}
		}
		c.SetLineStyle(draw.LineStyle{Color: s.Color.rgba(), Width: markerWidth(r)})
		if len(path) > 0 {
			c.Stroke(path)
		}
	}
}

// radius shrinks markers that would otherwise run together, down to what still shows a shape in print.
func (s Series) radius(width vg.Length) vg.Length {
	return min(2.4, max(1.2, width/vg.Length(max(len(s.X), 1))*0.6))
}

func markerWidth(r vg.Length) vg.Length { return min(0.8, r*0.4) }

// inside is Contains with a hair of slack: a point on the edge of its own axis is inside.
func inside(c *draw.Canvas, p vg.Point) bool {
	const hair = 0.01
	return p.X >= c.Min.X-hair && p.X <= c.Max.X+hair && p.Y >= c.Min.Y-hair && p.Y <= c.Max.Y+hair
}

// stroke draws runs of points as one path, cut at the edges of the canvas.
func stroke(c *draw.Canvas, runs [][]vg.Point) {
	var path vg.Path
	for _, run := range runs {
		for _, part := range c.ClipLinesXY(thinned(run)) {
			if len(part) < 2 {
				continue
			}
			path.Move(part[0])
			for _, pt := range part[1:] {
				path.Line(pt)
			}
		}
	}
	if len(path) > 0 {
		c.Stroke(path)
	}
}

// errorBars draws the bars of a series as one path, under its markers.
type errorBars struct {
	Series
	logs
}

func (s errorBars) Plot(c draw.Canvas, p *plot.Plot) {
	if len(s.Err) == 0 {
		return
	}
	t := s.place(&c, p)
	arm := vg.Length(0) // caps only where they do not touch each other
	if room := c.Size().X / vg.Length(max(len(s.X), 1)); room > 5 {
		arm = 1.6
	}
	var path vg.Path
	for i := range s.X {
		e := s.Err[i]
		if math.IsNaN(e) || e == 0 {
			continue
		}
		high, ok := t.at(s.X[i], s.Y[i]+e)
		if !ok || high.X < c.Min.X-0.01 || high.X > c.Max.X+0.01 {
			continue
		}
		low := vg.Point{X: high.X, Y: c.Min.Y}
		if v := s.Y[i] - e; !s.y || v > 0 { // on a logarithmic axis a bar may reach below every decade
			low.Y = t.y(v)
		}
		y0, y1 := max(low.Y, c.Min.Y), min(high.Y, c.Max.Y)
		if y0 >= y1 {
			continue
		}
		path.Move(vg.Point{X: high.X, Y: y0})
		path.Line(vg.Point{X: high.X, Y: y1})
		for _, y := range []vg.Length{y0, y1} {
			if arm > 0 && y > c.Min.Y && y < c.Max.Y {
				path.Move(vg.Point{X: high.X - arm, Y: y})
				path.Line(vg.Point{X: high.X + arm, Y: y})
			}
		}
	}
	c.SetLineStyle(draw.LineStyle{Color: s.Color.rgba(), Width: 0.6})
	if len(path) > 0 {
		c.Stroke(path)
	}
}
