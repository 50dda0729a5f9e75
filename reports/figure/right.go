package figure

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// rightAxis draws the second axis at the right edge: marks, numbers and label. It asks for its room as a glyph beside
// the
// frame, which is how the library keeps room for what reaches out.
type rightAxis struct {
	Axis
	span
}

const tickLength vg.Length = 3.5

func (a rightAxis) ticks(height vg.Length) (ticks []plot.Tick, label string) {
	count := int(height / 24)
	if a.Log {
		return logTicks(a.lo, a.hi, count), a.text(0)
	}
	ticks, exponent := linearTicks(a.lo, a.hi, max(count, 2))
	return ticks, a.text(exponent)
}

// share is where a value lies along the axis.
func (a rightAxis) share(v float64) float64 {
	if a.Log {
		return math.Log10(v/a.lo) / math.Log10(a.hi/a.lo)
	}
	return a.span.share(v)
}

// widest is the width of the numbers.
func widest(ticks []plot.Tick) (w vg.Length) {
	style := textStyle(tickSize, false)
	for _, t := range ticks {
		w = max(w, style.Width(t.Label))
	}
	return w
}

// width is the room beside the frame; the height of the frame is not known yet, and a guess gives as long numbers.
func (a rightAxis) width() vg.Length {
	ticks, label := a.ticks(150)
	w := tickLength + 2 + widest(ticks)
	if label != "" {
		e := textStyle(labelSize, false).FontExtents()
		w += 4 + e.Ascent + e.Descent
	}
	return w
}

// GlyphBoxes implements plot.GlyphBoxer.
func (a rightAxis) GlyphBoxes(*plot.Plot) []plot.GlyphBox { return besides(a.width()) }

func besides(width vg.Length) []plot.GlyphBox {
	return []plot.GlyphBox{{X: 1, Y: 0.5, Rectangle: vg.Rectangle{Max: vg.Point{X: width, Y: 1}}}}
}

// Plot implements plot.Plotter.
func (a rightAxis) Plot(c draw.Canvas, _ *plot.Plot) { a.draw(c, c.Max.X, c.Min.Y, c.Max.Y, a.width()) }

// draw draws the axis upwards from low to high, at x, in a width.
func (a rightAxis) draw(c draw.Canvas, x, low, high, width vg.Length) {
	ticks, label := a.ticks(high - low)
	style := textStyle(tickSize, false)
	style.XAlign, style.YAlign = draw.XLeft, draw.YCenter
	var path vg.Path
	for _, t := range ticks {
		y := low + vg.Length(a.share(t.Value))*(high-low)
		long := tickLength
		if t.IsMinor() {
			long /= 2
		}
		path.Move(vg.Point{X: x, Y: y})
		path.Line(vg.Point{X: x + long, Y: y})
		if t.Label != "" {
			c.FillText(style, vg.Point{X: x + tickLength + 2, Y: y}, t.Label)
		}
	}
	c.SetLineStyle(draw.LineStyle{Color: ink, Width: thin})
	if len(path) > 0 {
		c.Stroke(path)
	}
	if label != "" {
		turned := textStyle(labelSize, false)
		turned.Rotation = math.Pi / 2
		turned.XAlign, turned.YAlign = draw.XCenter, draw.YBottom
		label, turned = fitLabel(label, turned, high-low, 1)
		c.FillText(turned, vg.Point{X: x + width, Y: (low + high) / 2}, label)
	}
}
