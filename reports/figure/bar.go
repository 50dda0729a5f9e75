package figure

import (
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// colorBar stands right of the frame and says which value a colour of the scale is.
type colorBar struct {
	rightAxis
	most float64 // the tone at its upper end
}

const (
	barGap   vg.Length = 8
	barWidth vg.Length = 9
)

// GlyphBoxes implements plot.GlyphBoxer.
func (b colorBar) GlyphBoxes(*plot.Plot) []plot.GlyphBox {
	return besides(barGap + barWidth + b.width())
}

// Plot implements plot.Plotter.
func (b colorBar) Plot(c draw.Canvas, _ *plot.Plot) {
	x, height := c.Max.X+barGap, c.Size().Y
	const overlap = 0.3 // no seams between tones
	for i := range tones {
		low := c.Min.Y + height*vg.Length(i)/tones
		high := min(c.Min.Y+height*vg.Length(i+1)/tones+overlap, c.Max.Y)
		c.SetColor(Tone(float64(i) / lastTone * b.most).rgba())
		c.Fill(vg.Rectangle{Min: vg.Point{X: x, Y: low}, Max: vg.Point{X: x + barWidth, Y: high}}.Path())
	}
	c.SetLineStyle(draw.LineStyle{Color: ink, Width: thin})
	c.Stroke(vg.Rectangle{Min: vg.Point{X: x, Y: c.Min.Y}, Max: vg.Point{X: x + barWidth, Y: c.Max.Y}}.Path())
	b.draw(c, x+barWidth, c.Min.Y, c.Max.Y, b.width())
}
