package figure

import (
	"image/color"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
)

// What a drawing made elsewhere needs to look like the charts.

// NRGBA returns the colour as a canvas takes it.
func (c Color) NRGBA() color.NRGBA { return c.rgba() }

// Tint returns the colour mixed with white, so that no transparency is needed: share 1 is the colour itself.
func (c Color) Tint(share float64) color.NRGBA { return tint(c.rgba(), share) }

// Dashes returns the dash pattern, nil for a solid line.
func (l Line) Dashes() []vg.Length { return l.dashes() }

// Ink returns the colour of text and frames.
func Ink() color.NRGBA { return ink }

// TextStyle returns the style of text of a size in points.
func TextStyle(size vg.Length, bold bool) text.Style { return textStyle(size, bold) }
