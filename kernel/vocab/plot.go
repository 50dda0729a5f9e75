package vocab

import (
	"fmt"
	"math"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/figure"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/verify"
)

// trace is one thing to draw: values over an axis, or readings as points.
type trace struct {
	label    string
	x, y     quantities
	err      []float64 // in the unit of y; nil for none
	readings bool
	least    []bool // which readings are bounds: what was measured is at least so much; nil for none
	group    int    // traces of one group, counted from 1, share a colour; 0: on its own
	line     figure.Line
	low      []float64 // with high, a band about y in its unit; nil for none
	high     []float64

	told   bool               // the label is somebody's words, and stands in the legend even alone
	row    *quantity.Quantity // which row of a grid it is, to be told by its colour; nil: by its label
	rows   string             // what the rows of that grid are
	color  figure.Color       // as asked for; AutoColor: the next
	marker figure.Marker      // as asked for
	dash   figure.Line        // as asked for, in place of line
	right  bool               // of the axis at the right edge
}

// quantities are values of one unit with what they measure.
type quantities struct {
	name   string
	unit   quantity.Unit
	values []float64
}

// in converts to another unit.
func (q quantities) in(u quantity.Unit) ([]float64, error) {
	out := make([]float64, len(q.values))
	for i, v := range q.values {
		r, err := quantity.Quantity{Value: v, Unit: q.unit}.In(u)
		if err != nil {
			return nil, err
		}
		out[i] = r.Value
	}
	return out, nil
}

// mostTraces bounds the curves of one plot that are told apart by pattern and label, and mostRowTraces those of grids
// that
// are told apart by a scale of colours.
const (
	mostTraces    = 12
	mostRowTraces = 200
)

// traces returns what there is to draw of a value. choice is the figure to draw of a response or of
// measured data, "" for the one that its direction suggests.
func traces(v starlark.Value, choice string) ([]trace, error) {
	switch v := v.(type) {
	case *Series:
		return seriesTraces(v), nil
	case *Response:
		name := choice
		if name == "" {
			name = defaultFigure(v.r.Direction)
		}
		f, err := v.Attr(name)
		if err != nil {
			return nil, err
		}
		s, ok := f.(*Series)
		if !ok {
			return nil, fmt.Errorf("a response at one wavelength and temperature has no curve: compute it over a sweep")
		}
		return seriesTraces(s), nil
	case *Responses:
		name := choice
		if name == "" {
			name = defaultFigure(v.direction)
		}
		for _, f := range responseFigures {
			if f.name == name && f.among(v) {
				return seriesTraces(v.figure(f)), nil
			}
		}
		return nil, fmt.Errorf("%s responses have no %s", v.direction, figureLabel(name))
	case *Verification:
		return verificationTraces(v.result, choice)
	case *Measured:
		var all []trace
		for _, t := range v.tables {
			list, err := tableTraces(t, choice)
			if err != nil {
				return nil, err
			}
			all = append(all, list...)
		}
		return all, nil
	}
	return nil, fmt.Errorf("cannot plot %s; expected a series, a grid, a response over a sweep, measured data, a "+
		"verification, trials or limits", describe(v))
}

// defaultFigure is what a plot shows of the responses of a direction.
func defaultFigure(d stack.Direction) string {
	if d == stack.Forward {
		return "insertion_loss"
	}
	return "isolation"
}

// seriesTraces draws a series as one curve and a grid as one for each row.
func seriesTraces(s *Series) []trace {
	name := s.label
	if name == "" {
		name = noun(quantity.Quantity{Unit: s.unit})
	}
	axis := s.axes[len(s.axes)-1]
	x := quantities{axis.what(), axis.unit, axis.values}
	if len(s.axes) == 1 {
		told := s.told && !isFigure(s.label)
		return []trace{{label: s.label, x: x, y: quantities{name, s.unit, s.values}, told: told}}
	}
	var all []trace
	for i, row := range s.rows() {
		at := sensible(s.axes[0].quantity(i))
		if name := s.axes[0].name; name != "" {
			at = name + " " + at
		}
		t := trace{label: joined(s.label, at), x: x, y: quantities{name, s.unit, row}}
		if s.Len() > mostTraces {
			q := s.axes[0].quantity(i)
			t.row, t.rows = &q, s.axes[0].what()
		}
		all = append(all, t)
	}
	return all
}

// isFigure reports whether a label is the name of a figure of a response, which the axis says.
func isFigure(label string) bool {
	return label == "return loss" || slices.ContainsFunc(responseFigures, func(f responseFigure) bool {
		return f.label == label
	})
}

func joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + ", " + b
}

// tableTraces draws each run of a file as points, with bars of one expanded uncertainty (k = 2) where
// the file states a standard one.
func tableTraces(t *measured.Table, choice string) ([]trace, error) {
	column, name := measuredColumn(choice)
	readings := t.Figure(column)
	if readings == nil {
		return nil, fmt.Errorf("%s has no column %s to plot", t.File.Name, column)
	}
	var all []trace
	for _, r := range t.Runs() {
		tr := trace{
			label:    joined(joined("measured", t.Unit()), sensible(inCelsius(r.Temperature).Quantity)),
			x:        quantities{name: "wavelength", unit: quantity.MustNamed("nm")},
			y:        quantities{name: figureLabel(name), unit: decibel},
			readings: true,
		}
		u := t.U[column]
		for _, i := range r.Rows {
			tr.x.values = append(tr.x.values, inNanometres(t.Wavelength[i]).Value)
			tr.y.values = append(tr.y.values, readings[i])
			tr.least = append(tr.least, t.AtLeast(column, i))
			if u != nil {
				tr.err = append(tr.err, coverage*u[i])
			}
		}
		all = append(all, tr)
	}
	return all, nil
}

// verificationTraces draws the readings of a verification, net of the floor, with the model as specified, dashed in its
// band of expanded uncertainty, and, where something was fitted, as diagnosed, solid.
func verificationTraces(r *verify.Result, choice string) ([]trace, error) {
	_, name := measuredColumn(choice)
	axis := func() quantities { return quantities{name: "wavelength", unit: quantity.MustNamed("nm")} }
	var all []trace
	for i, run := range r.Runs {
		at := sensible(inCelsius(run.Temperature).Quantity)
		tr := trace{label: joined("measured",
			at), x: axis(), y: quantities{name: figureLabel(name), unit: decibel}, readings: true, group: i + 1}
		for _, p := range r.Points {
			if name == string(limits.Isolation) && p.Run == i {
				tr.x.values = append(tr.x.values, inNanometres(p.Wavelength).Value)
				tr.y.values = append(tr.y.values, p.Isolation)
				tr.err = append(tr.err, (p.High-p.Low)/2)
				tr.least = append(tr.least, p.Censored)
			}
		}
		for _, p := range r.Losses {
			if name == string(limits.InsertionLoss) && p.Run == i {
				tr.x.values = append(tr.x.values, inNanometres(p.Wavelength).Value)
				tr.y.values = append(tr.y.values, p.Read)
				tr.err = append(tr.err, p.U)
			}
		}
		if len(tr.x.values) > 0 {
			all = append(all, tr)
		}
		for _, c := range r.Curves {
			if string(c.Quantity) != name || c.Run != i {
				continue
			}
			for _, m := range []struct {
				label string
				band  verify.Band
				line  figure.Line
			}{{"specified", c.Specified, figure.Dashed}, {"diagnosed", c.Diagnosed, figure.Solid}} {
				if m.band.Value == nil {
					continue
				}
				label := m.label
				if i > 0 {
					label = "" // named once; the readings with their markers tell the runs apart
				}
				model := trace{label: label, x: axis(), y: quantities{figureLabel(name),
					decibel, m.band.Value}, group: i + 1, line: m.line}
				if m.line == figure.Dashed {
					model.low, model.high = m.band.Low, m.band.High
				}
				for _, l := range c.Wavelengths {
					model.x.values = append(model.x.values, inNanometres(l).Value)
				}
				all = append(all, model)
			}
		}
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("the verification has no %s", figureLabel(name))
	}
	return all, nil
}

// coverage is the factor of the error bars that plot() draws.
const coverage = 2

// measuredColumn returns the column of a file that belongs to a figure; the mean isolation and the
// extremes of the loss are kinds of evaluation, not columns.
func measuredColumn(choice string) (column, name string) {
	switch choice {
	case "", "isolation", "isolation_mean":
		return measured.Isolation, "isolation"
	case "insertion_loss", "insertion_loss_min", "insertion_loss_max":
		return measured.InsertionLoss, "insertion_loss"
	}
	return choice, choice
}

// limitLines draws the limits on one figure: the hatched side is forbidden.
func limitLines(list limits.Limits, figureName string, x quantity.Unit) []figure.Limit {
	var lines []figure.Limit
	for _, l := range list {
		if string(l.Quantity) != figureName {
			continue
		}
		line := figure.Limit{Label: boundText(l.AtLeast) + " " + bounded(l.Value, l.Quantity).String(),
			At: l.Value, Forbid: figure.Forbidden(l.AtLeast)}
		if x.Dimension() == quantity.OfLength {
			line.From, line.To = quantity.FromSI(float64(l.Low), x).Value, quantity.FromSI(float64(l.High), x).Value
		}
		lines = append(lines, line)
	}
	return lines
}

// chart puts traces on one pair of axes, in the units of the first; those of the right axis in the units of its first.
func chart(all []trace) (figure.Chart, error) {
	first := all[0]
	c := figure.Chart{
		X: figure.Axis{Label: first.x.name, Unit: first.x.unit.Symbol()},
		Y: figure.Axis{Label: first.y.name, Unit: first.y.unit.Symbol()},
	}
	tones, err := scaleOf(all, &c)
	if err != nil {
		return c, err
	}
	var right *trace
	for i, t := range all {
		of, axis := first, &c.Y
		if t.right {
			if right == nil {
				right = &all[i]
				c.Right = figure.Axis{Label: t.y.name, Unit: t.y.unit.Symbol()}
			}
			of, axis = *right, &c.Right
		}
		x, errX := t.x.in(first.x.unit)
		y, errY := t.y.in(of.y.unit)
		if errX != nil || errY != nil {
			return c, fmt.Errorf("%s against %s and %s against %s need different axes: plot them separately, or one "+
				"of them on the right axis with right=", of.y.name, first.x.name, t.y.name, t.x.name)
		}
		if t.y.name != of.y.name {
			axis.Label = noun(quantity.Quantity{Unit: of.y.unit})
		}
		if len(x) == 0 || allNaN(y) {
			return c, fmt.Errorf("%s has no values to plot", joined(t.label, t.y.name))
		}
		s := t.series(i, x, y)
		if t.row != nil {
			s.Color, s.Line = tones(*t.row), figure.Solid
		}
		if t.low != nil {
			c.Bands = append(c.Bands, figure.Band{X: x, Low: t.low, High: t.high, Color: s.Color})
		}
		if !slices.Contains(t.least, true) {
			c.Series = append(c.Series, s)
			continue
		}
		exact, least := parted(s, t.least)
		if len(exact.X) > 0 {
			c.Series = append(c.Series, exact)
		}
		c.Series = append(c.Series, least)
	}
	if len(c.Series) == 1 && !first.readings && !first.told {
		c.Series[0].Label = "" // a lone curve is what the axis says
	}
	if len(c.Series) == 1 && c.Series[0].Line == figure.AutoLine {
		c.Series[0].Line = figure.Solid // in whichever panel it stands
	}
	return c, nil
}

// series is how the i-th trace is drawn.
func (t trace) series(i int, x, y []float64) figure.Series {
	s := figure.Series{Label: t.label, X: x, Y: y, Line: t.line, Right: t.right}
	at := i
	if t.group > 0 {
		at = t.group - 1
	}
	s.Color = figure.ColorAt(at)
	if t.readings {
		s.Line, s.Marker, s.Err = figure.NoLine, figure.MarkerAt(at), t.err
	}
	if t.color != figure.AutoColor {
		s.Color = t.color
	}
	if t.marker != figure.AutoMarker {
		s.Marker = t.marker
		if s.Line == figure.AutoLine {
			s.Line = figure.Solid
		}
	}
	if t.dash != figure.AutoLine {
		s.Line = t.dash
	}
	return s
}

// scaleOf gives the chart the scale of colours of its rows of grids, and returns the colour of a row.
func scaleOf(all []trace, c *figure.Chart) (func(quantity.Quantity) figure.Color, error) {
	var unit *quantity.Unit
	low, high := math.Inf(1), math.Inf(-1)
	for _, t := range all {
		if t.row == nil {
			continue
		}
		if unit == nil {
			unit = &t.row.Unit
			c.Bar, c.Tones = true, figure.Axis{Label: t.rows, Unit: unit.Symbol()}
		}
		q, err := t.row.In(*unit)
		if err != nil {
			return nil, fmt.Errorf("the rows of one grid are over %s, of another over %s: plot them separately",
				c.Tones.Label, t.rows)
		}
		low, high = min(low, q.Value), max(high, q.Value)
	}
	c.Tones.Min, c.Tones.Max = low, high
	if unit == nil {
		c.Tones = figure.Axis{}
	}
	return func(q quantity.Quantity) figure.Color {
		r, err := q.In(*unit)
		if err != nil {
			return figure.Grey // of another dimension, which is refused above
		}
		return figure.LineTone((r.Value - low) / (high - low))
	}, nil
}

// parted takes the readings that are bounds out of a series: arrows, which point to where the value may be.
func parted(s figure.Series, bound []bool) (exact, least figure.Series) {
	exact, least = s, s
	exact.X, exact.Y, exact.Err = nil, nil, nil
	least.X, least.Y, least.Err = nil, nil, nil
	least.Label, least.Marker = joined(s.Label, "at least"), figure.Arrow
	for i, b := range bound {
		if b {
			least.X, least.Y = append(least.X, s.X[i]), append(least.Y, s.Y[i])
			continue
		}
		exact.X, exact.Y = append(exact.X, s.X[i]), append(exact.Y, s.Y[i])
		if s.Err != nil {
			exact.Err = append(exact.Err, s.Err[i])
		}
	}
	return exact, least
}

func allNaN(v []float64) bool {
	for _, x := range v {
		if !math.IsNaN(x) {
			return false
		}
	}
	return true
}
