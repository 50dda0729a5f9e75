package figure

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Note is a text at a point of the data, with a ring around the point; where X or Y is NaN, a dashed line across the
// panel
// at the other with the text beside it.
type Note struct {
	Text string
	X, Y float64
}

// boxes are places on a canvas that text has taken.
type boxes []vg.Rectangle

func (b *boxes) add(r vg.Rectangle) {
	if b != nil {
		*b = append(*b, r)
	}
}

func (b *boxes) meets(r vg.Rectangle) bool {
	if b == nil {
		return false
	}
	for _, o := range *b {
		if r.Min.X < o.Max.X && o.Min.X < r.Max.X && r.Min.Y < o.Max.Y && o.Min.Y < r.Max.Y {
			return true
		}
	}
	return false
}

// notes draws the notes of a chart.
type notes struct{ prepared }

func (n notes) Plot(c draw.Canvas, p *plot.Plot) {
	t := n.logs().place(&c, p)
	points := n.dots(&c, p)
	for _, note := range n.Notes {
		switch {
		case math.IsNaN(note.X):
			n.rule(&c, p, Limit{Label: note.Text, At: note.Y})
		case math.IsNaN(note.Y):
			n.rule(&c, p, Limit{Label: note.Text, At: note.X, Vertical: true})
		default:
			if at, ok := t.at(note.X, note.Y); ok && inside(&c, at) {
				n.point(&c, points, note.Text, at)
			}
		}
	}
}

func (n notes) rule(c *draw.Canvas, p *plot.Plot, as Limit) {
	l := limitLine{as, n.prepared}
	from, to := l.ends(c, n.logs().place(c, p))
	if from == to {
		return
	}
	if n.Grid != nil && n.Grid.Map {
		c.StrokeLines(draw.LineStyle{Color: white, Width: 1.8}, []vg.Point{from, to})
	}
	c.StrokeLines(draw.LineStyle{Color: ink, Width: 0.7, Dashes: []vg.Length{3, 2}}, []vg.Point{from, to})
	l.label(c, p, from, to)
}

// point rings a point and writes beside it where the text covers the fewest data, with a line to it.
func (n notes) point(c *draw.Canvas, points []vg.Point, text string, at vg.Point) {
	style := textStyle(tickSize, false)
	w, h := style.Width(text), style.FontExtents().Ascent+style.FontExtents().Descent
	const covered = 1e6 // more than any number of points: a text over another is no text
	best, least := vg.Rectangle{}, math.Inf(1)
	for _, far := range []vg.Length{9, 20, 36, 55, 80, 110} {
		for _, d := range []vg.Point{{X: 1, Y: 1}, {X: -1, Y: 1}, {X: 1, Y: -1}, {X: -1, Y: -1}, {Y: 1}, {Y: -1},
			{X: 1},
			{X: -1}} {
			mid := vg.Point{X: at.X + d.X*(far+w/2), Y: at.Y + d.Y*(far+h/2)}
			r := vg.Rectangle{Min: vg.Point{X: mid.X - w/2, Y: mid.Y - h/2}, Max: vg.Point{X: mid.X + w/2,
				Y: mid.Y + h/2}}
			bad := float64(far) / 20
			for _, p := range points {
				if p.X > r.Min.X-2 && p.X < r.Max.X+2 && p.Y > r.Min.Y-2 && p.Y < r.Max.Y+2 {
					bad++
				}
			}
			if n.taken.meets(r) {
				bad += covered
			}
			if r.Min.X < c.Min.X+1 || r.Max.X > c.Max.X-1 || r.Min.Y < c.Min.Y+1 || r.Max.Y > c.Max.Y-1 {
				bad += 10 * covered
			}
			if bad < least {
				best, least = r, bad
			}
		}
	}
	n.taken.add(best)
	halo := best
	halo.Min.X, halo.Max.X = halo.Min.X-1.5, halo.Max.X+1.5
	near := vg.Point{X: min(max(at.X, best.Min.X), best.Max.X), Y: min(max(at.Y, best.Min.Y), best.Max.Y)}
	const ring = 3
	if d := distance(at, near); d > ring {
		from := vg.Point{X: at.X + ring/d*(near.X-at.X), Y: at.Y + ring/d*(near.Y-at.Y)}
		c.StrokeLines(draw.LineStyle{Color: ink, Width: 0.6}, []vg.Point{from, near})
	}
	var path vg.Path
	path.Move(vg.Point{X: at.X + ring, Y: at.Y})
	path.Arc(at, ring, 0, 2*math.Pi)
	path.Close()
	c.SetLineStyle(draw.LineStyle{Color: white, Width: 2.4})
	c.Stroke(path)
	c.SetLineStyle(draw.LineStyle{Color: ink, Width: 0.8})
	c.Stroke(path)
	c.SetColor(white)
	c.Fill(halo.Path())
	style.XAlign, style.YAlign = draw.XLeft, draw.YBottom
	c.FillText(style, vg.Point{X: best.Min.X, Y: best.Min.Y + style.FontExtents().Descent}, text)
}
