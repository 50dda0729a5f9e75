package compose

import (
	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/lot"
	"wedgework/reports/record"
)

// perFigure is how many characteristics one figure of control charts holds, one below the other.
const perFigure = 3

// chartFigures draws the control charts of what is held against a limit and of the fitted parameters: individuals on
// the left, moving ranges on the right.
func chartFigures(s lot.Study) []document.Block {
	var some []lot.Characteristic
	for _, c := range s.Characteristics {
		if c.Chart != nil && c.Kind != lot.OfFigure {
			some = append(some, c)
		}
	}
	var b []document.Block
	for len(some) > 0 {
		n := min(perFigure, len(some))
		p := figure.Panels{Columns: 2, ShareX: true}
		var results []string
		for _, c := range some[:n] {
			results = append(results, chartResults(c))
			p.Charts = append(p.Charts, individuals(c, len(s.Units)), movingRanges(c, len(s.Units)))
		}
		f := p.Figure("Control charts of the units in their order: individuals on the left, moving ranges (absolute " +
			"change from one unit to the next) on the right. Dashed: centre line; dash-dotted: control limits; " +
			"corner marks: the unit triggers a rule.")
		f.Height = vg.Length(14+37*n) * vg.Millimeter
		b = append(b, worded(f, "each value, and the change from one unit to the next, against the unit in order",
			results))
		some = some[n:]
	}
	return b
}

// farOff is how far from the control limits, in their distance, the requirement is still drawn: farther, it would press
// the chart flat.
const farOff = 2

func individuals(c lot.Characteristic, units int) figure.Chart {
	h := c.Chart
	f := frame(c, units, c.Name)
	if c.Limit != nil {
		f.Title = document.Brief(document.Signs(c.Name + ", " + c.Condition))
		if away := max(h.Lower-c.Limit.Value, c.Limit.Value-h.Upper); away < farOff*(h.Upper-h.Lower) {
			f.Limits = append(f.Limits, figure.Limit{Label: "limit " + record.Condition(c.Limit.Value).Text() + " " +
				c.Unit, At: c.Limit.Value, Forbid: figure.Forbidden(c.Limit.AtLeast)})
		}
	}
	f.Series = append(f.Series, lines(units, h.Centre, h.Lower, h.Upper)...)
	f.Series = append(f.Series, figure.Series{Label: "unit", X: c.At, Y: h.Values, Color: figure.Blue,
		Marker: figure.Circle, Line: figure.Solid})
	at := map[int]bool{}
	for _, s := range h.Signals {
		for _, i := range s.Values {
			if !s.Range {
				at[i] = true
			}
		}
	}
	return pointed(f, c.At, h.Values, at)
}

func movingRanges(c lot.Characteristic, units int) figure.Chart {
	h := c.Chart
	f := frame(c, units, "moving range of "+c.Name)
	f.Y.Label = "moving range"
	f.Y.Min, f.Y.Max = 0, 1.1*max(h.UpperRange, greatest(h.Ranges))
	f.Series = append(f.Series, lines(units, h.MeanRange, h.UpperRange)...)
	x := c.At[1:]
	f.Series = append(f.Series, figure.Series{Label: "unit", X: x, Y: h.Ranges, Color: figure.Blue,
		Marker: figure.Circle, Line: figure.Solid})
	at := map[int]bool{}
	for _, s := range h.Signals {
		if s.Range {
			at[s.Values[0]] = true
		}
	}
	return pointed(f, x, h.Ranges, at)
}

func frame(c lot.Characteristic, units int, title string) figure.Chart {
	return figure.Chart{Title: title,
		X: figure.Axis{Label: "unit, in order", Max: float64(units) + 1, Whole: true},
		Y: figure.Axis{Label: "value", Unit: unitText(c.Unit)},
	}
}

// lines are the centre line and the control limits.
func lines(units int, centre float64, limits ...float64) []figure.Series {
	across := []float64{0, float64(units) + 1}
	all := []figure.Series{{Label: "centre line", X: across, Y: []float64{centre, centre}, Color: figure.Grey,
		Line: figure.Dashed}}
	for i, l := range limits {
		s := figure.Series{X: across, Y: []float64{l, l}, Color: figure.Vermillion, Line: figure.DashDotted}
		if i == 0 {
			s.Label = "control limit"
		}
		all = append(all, s)
	}
	return all
}

// pointed marks the values that a rule sees.
func pointed(f figure.Chart, x, y []float64, at map[int]bool) figure.Chart {
	s := figure.Series{Label: "signal", Color: figure.Vermillion, Marker: figure.Rays, Line: figure.NoLine}
	for i := range x {
		if at[i] {
			s.X, s.Y = append(s.X, x[i]), append(s.Y, y[i])
		}
	}
	if len(s.X) > 0 {
		f.Series = append(f.Series, s)
	}
	return f
}

func greatest(values []float64) float64 {
	most := 0.0
	for _, v := range values {
		most = max(most, v)
	}
	return most
}
