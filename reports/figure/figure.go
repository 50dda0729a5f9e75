// Package figure holds charts as plain data and draws them as vectors through gonum/plot: lines, points
// with error bars, bands, limit lines, on linear or logarithmic axes, one panel or several.
//
// A chart is told apart without colour: every line has a dash pattern, every set of points a marker, every
// limit a hatched side. Nothing of a chart is hidden by its legend, which stands above the panels. The
// package knows no quantities: numbers come in the unit that the axis names, already converted.
//
// It does not draw rays or schematics, and it does not choose what to show.
package figure

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
)

// Chart is one panel: two axes and what is drawn between them. A grid lies lowest, then bands, limits, series in their
// order, and notes.
type Chart struct {
	Title  string // above the panel; a lone chart has a caption and needs none
	X, Y   Axis
	Right  Axis // of the series that are Right, at the right edge
	Grid   *Grid
	Series []Series
	Bands  []Band
	Limits []Limit
	Notes  []Note

	// Tones is what the colours of a map, or of series that have a Tone, stand for. A bar beside the panel shows it
	// where a
	// grid has a map, and where Bar asks for it; its ends follow from the grid when both are zero.
	Tones Axis
	Bar   bool
}

// Axis is one axis of a chart.
type Axis struct {
	Label string // "wavelength"
	Unit  string // "nm"; empty for a pure number

	// Min and Max bound the axis. When both are zero they follow from the data.
	Min, Max float64
	Log      bool
	Whole    bool // a count: whole numbers only
}

// Series is a curve or a set of points. Where X or Y is NaN there is a gap.
type Series struct {
	Label string // in the legend; a series without a label is not listed
	X, Y  []float64

	// Err is the half length of each point's error bar in the unit of Y, empty for none; NaN or zero leaves
	// the bar out at that point. What it stands for (k = 1, k = 2) belongs into the caption.
	Err []float64

	Color  Color
	Line   Line
	Marker Marker
	Width  vg.Length // of the line; zero for the usual one
	Right  bool      // Y is of the axis at the right edge

	// What a page can tell of a point beside where it lies: its expanded uncertainty in the unit of Y, and the line of
	// File that it was read from. Each is empty or as long as X; NaN and 0 are for none.
	U     []float64
	Lines []int
	File  string
}

// Band is the area between two curves over the same X: a tolerance band, an expanded uncertainty. Where a
// number is NaN there is a gap.
type Band struct {
	Label        string
	Of           string // label of the series whose uncertainty it is, if it is one's
	X, Low, High []float64
	Color        Color
}

// Limit is a straight line that a curve must not cross, with its forbidden side hatched and its label
// beside it, where the fewest data are.
type Limit struct {
	Label    string
	At       float64
	Vertical bool // at a value of X rather than Y
	Right    bool // at a value of the axis at the right edge

	// From and To bound the line along the other axis; when both are zero it runs across the panel.
	From, To float64

	Forbid Side
	Color  Color // black unless stated
}

// Side is a side of a limit line.
type Side uint8

// Below forbids smaller values, as for a least isolation; Above greater ones, as for a greatest loss.
const (
	Neither Side = iota
	Below
	Above
)

// Forbidden is the side of a limit that a value must not be on: below a least value, above a greatest one.
func Forbidden(atLeast bool) Side {
	if atLeast {
		return Below
	}
	return Above
}

// Draw draws the chart over the whole canvas. It implements document.Drawing.
func (c Chart) Draw(canvas vg.CanvasSizer) error {
	return Panels{Charts: []Chart{c}}.Draw(canvas)
}

// Figure returns the chart as a block with a caption, described in words for readers that cannot draw.
func (c Chart) Figure(caption string) document.Figure {
	return document.Figure{Caption: caption, Text: c.Describe(), Drawing: c}
}

func (a Axis) text(exponent int) string {
	unit := a.Unit
	if exponent != 0 {
		unit = fmt.Sprintf("1e%d %s", exponent, unit)
	}
	if unit == "" {
		return a.Label
	}
	return a.Label + " (" + trimRight(unit) + ")"
}

func trimRight(s string) string {
	for len(s) > 0 && s[len(s)-1] == ' ' {
		s = s[:len(s)-1]
	}
	return s
}

// check says what is wrong with the data, naming the series and the point.
func (c Chart) check() error {
	for i, a := range []Axis{c.X, c.Y, c.Right, c.Tones} {
		name := []string{"x", "y", "right", "of colours"}[i]
		if bounded := a.Min != 0 || a.Max != 0; bounded && !(a.Max-a.Min > hairsbreadth*math.Max(math.Abs(a.Min),
			math.Abs(a.Max))) || bounded && a.Log && a.Min <= 0 {
			return fmt.Errorf("axis %s runs from %g to %g, expected rising numbers, above zero on a logarithmic axis",
				name, a.Min, a.Max)
		}
	}
	if c.Bar && c.Grid == nil && c.Tones.Min == c.Tones.Max {
		return errors.New("a bar of colours without ends: state Tones.Min and Tones.Max")
	}
	if c.Grid != nil {
		if err := c.Grid.check(c.X, c.Y); err != nil {
			return err
		}
	}
	for i, s := range c.Series {
		name := fmt.Sprintf("series %d %q", i+1, s.Label)
		if len(s.X) != len(s.Y) {
			return fmt.Errorf("%s has %d values of x and %d of y, expected as many", name, len(s.X), len(s.Y))
		}
		if len(s.Err) > 0 && len(s.Err) != len(s.Y) {
			return fmt.Errorf("%s has %d error bars for %d points, expected as many", name, len(s.Err), len(s.Y))
		}
		if len(s.U) > 0 && len(s.U) != len(s.Y) || len(s.Lines) > 0 && len(s.Lines) != len(s.Y) {
			return fmt.Errorf("%s has %d uncertainties and %d lines for %d points, expected none or as many", name,
				len(s.U), len(s.Lines), len(s.Y))
		}
		for k, e := range s.Err {
			if e < 0 || math.IsInf(e, 0) {
				return fmt.Errorf("%s, point %d: error bar %g, expected a half length of zero or more", name, k+1, e)
			}
		}
		if err := c.logsOf(s.Right).checkPoints(name, s.X, s.Y); err != nil {
			return err
		}
	}
	for i, b := range c.Bands {
		name := fmt.Sprintf("band %d %q", i+1, b.Label)
		if len(b.Low) != len(b.X) || len(b.High) != len(b.X) {
			return fmt.Errorf("%s has %d values of x, %d low and %d high, expected as many", name, len(b.X), len(b.Low),
				len(b.High))
		}
		if err := c.logs().checkPoints(name, b.X, b.Low); err != nil {
			return err
		}
		if err := c.logs().checkPoints(name, b.X, b.High); err != nil {
			return err
		}
	}
	for i, l := range c.Limits {
		name := fmt.Sprintf("limit %d %q", i+1, l.Label)
		log := c.logsOf(l.Right).y
		if l.Vertical {
			log = c.X.Log
		}
		if math.IsNaN(l.At) || math.IsInf(l.At, 0) || log && l.At <= 0 {
			return fmt.Errorf("%s is at %g, expected a finite number, above zero on a logarithmic axis", name, l.At)
		}
	}
	for i, n := range c.Notes {
		for _, v := range []struct {
			at  float64
			log bool
		}{{n.X, c.X.Log}, {n.Y, c.Y.Log}} {
			if math.IsInf(v.at, 0) || v.log && v.at <= 0 {
				return fmt.Errorf("note %d %q stands at %g, expected a finite number, above zero on a logarithmic "+
					"axis", i+1,
					n.Text, v.at)
			}
		}
	}
	return nil
}

func (c logs) checkPoints(name string, xs, ys []float64) error {
	for k := range xs {
		for _, p := range []struct {
			axis string
			v    float64
			log  bool
		}{{"x", xs[k], c.x}, {"y", ys[k], c.y}} {
			if math.IsInf(p.v, 0) {
				return fmt.Errorf("%s, point %d: %s is %g, expected a number, or NaN for a gap", name, k+1, p.axis, p.v)
			}
			if p.log && p.v <= 0 {
				return fmt.Errorf("%s, point %d: %s is %g, expected more than zero on a logarithmic axis", name, k+1,
					p.axis, p.v)
			}
		}
	}
	return nil
}
