package vocab

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/limits"
)

// scatter plots values against other values, point by point.
func scatter(a Args) (figure.Chart, string, error) {
	if err := a.noneOf("has no meaning beside against=", "figure", "right", "right_y"); err != nil {
		return figure.Chart{}, "", err
	}
	x, err := sideOf(a, a.Get("against"))
	if err != nil {
		return figure.Chart{}, "", fmt.Errorf("against=: %w", err)
	}
	var all []trace
	var lims limits.Limits
	add := func(label string, v starlark.Value) error {
		if l, ok := v.(*Limits); ok {
			lims = append(lims, l.list...)
			return nil
		}
		y, err := sideOf(a, v)
		if err == nil {
			err = pairable(y, x)
		}
		if err != nil {
			return err
		}
		t := trace{label: y.label, told: y.told, x: x.values, y: y.values, marker: figure.MarkerAt(len(all)),
			dash: figure.NoLine}
		if label != "" {
			t.label, t.told = label, true
		}
		all = append(all, t)
		return nil
	}
	if err := eachThing(a.Many(), add); err != nil {
		return figure.Chart{}, "", err
	}
	if len(all) == 0 {
		return figure.Chart{}, "", errors.New("there is nothing to plot: give a series or a list beside against=")
	}
	if err := cmp.Or(few(all), relabel(all, a)); err != nil {
		return figure.Chart{}, "", err
	}
	return laidOut(all, lims, a)
}

// side is one coordinate of points.
type side struct {
	sample
	axes []*Sweep
}

// sideOf reads values that have an order: of a series, of a list, of the units of trials.
func sideOf(a Args, v starlark.Value) (side, error) {
	s, err := sampleOf(a, v)
	if err != nil {
		return side{}, err
	}
	one := side{sample: s}
	switch v := v.(type) {
	case *Series:
		one.axes = v.axes
	case *Distribution: // in the order of the units
		one.values.name = document.Signs(joined(one.values.name, document.Brief(v.wanted.where())))
		one.values.values = nil
		for _, x := range v.units {
			one.values.values = append(one.values.values, v.wanted.in(x).Value)
		}
	}
	return one, nil
}

// pairable says why two sides do not belong together.
func pairable(y, x side) error {
	if len(y.values.values) != len(x.values.values) {
		return fmt.Errorf("%s of %s and %s of %s do not go together point by point", count(len(y.values.values),
			"value"),
			y.values.name, count(len(x.values.values), "value"), x.values.name)
	}
	if y.units != nil && x.units != nil && y.units.of != x.units.of {
		return errors.New("the figures are of different trials, whose units do not go together")
	}
	if y.axes != nil && x.axes != nil && !slices.EqualFunc(y.axes, x.axes, (*Sweep).same) {
		return fmt.Errorf("the axes differ: %s does not match %s; interpolate one of them, as in y.at(axis)",
			briefAxes(x.axes), briefAxes(y.axes))
	}
	return nil
}

// gridChart plots a grid as a map of colours or as contour lines, with the limits on it as lines.
func gridChart(a Args) (figure.Chart, string, error) {
	if err := a.noneOf("has no meaning beside a map", "right", "right_y", "labels", "colour", "marker",
		"line"); err != nil {
		return figure.Chart{}, "", err
	}
	var s *Series
	var lims limits.Limits
	err := eachThing(a.Many(), func(_ string, v starlark.Value) error {
		if l, ok := v.(*Limits); ok {
			lims = append(lims, l.list...)
			return nil
		}
		g, err := gridOf(v, a.Text("figure"))
		if err == nil && s != nil {
			err = errors.New("a map shows one grid: put each into a panel of its own")
		}
		s = g
		return err
	})
	if err == nil && s == nil {
		err = errors.New("there is nothing to plot: give a grid")
	}
	if err != nil {
		return figure.Chart{}, "", err
	}
	name := s.label
	if name == "" {
		name = noun(quantity.Quantity{Unit: s.unit})
	}
	rows, columns := s.axes[0], s.axes[1]
	c := figure.Chart{X: figure.Axis{Label: columns.what(), Unit: columns.unit.Symbol()},
		Y:     figure.Axis{Label: rows.what(), Unit: rows.unit.Symbol()},
		Tones: figure.Axis{Label: name, Unit: s.unit.Symbol()},
		Grid:  &figure.Grid{X: columns.values, Y: rows.values, Z: s.rows(), Map: a.Text("kind") == asMap}}
	if c.Grid.Levels, err = levelsOf(a, s); err != nil {
		return c, "", err
	}
	of := limitFigure(a.Text("figure"), []trace{{y: quantities{name, s.unit, nil}}})
	c.Grid.Borders = limitLines(lims, of, s.unit)
	if len(lims) > 0 && len(c.Grid.Borders) == 0 {
		return c, "", fmt.Errorf("none of the limits is for the plotted figure, %s", name)
	}
	if err := cmp.Or(bound(&c.X, a, "x", columns.unit), bound(&c.Y, a, "y", rows.unit),
		bound(&c.Tones, a, "z", s.unit), scales(&c, a)); err != nil {
		return c, "", err
	}
	if c.Notes, err = notesOf(a, columns.unit, rows.unit); err != nil {
		return c, "", err
	}
	return c, document.Capital(name) + " over " + c.X.Label + " and " + c.Y.Label, nil
}

// gridOf returns a grid, or the figure of a response over two axes.
func gridOf(v starlark.Value, choice string) (*Series, error) {
	switch r := v.(type) {
	case *Response:
		if choice == "" {
			choice = defaultFigure(r.r.Direction)
		}
		f, err := r.Attr(choice)
		if err != nil {
			return nil, err
		}
		v = f
	case *Responses:
		if choice == "" {
			choice = defaultFigure(r.direction)
		}
		f, err := r.Attr(choice)
		if err != nil {
			return nil, err
		}
		v = f
	}
	if s, ok := v.(*Series); ok && len(s.axes) == 2 {
		return s, nil
	}
	return nil, fmt.Errorf("a map or contour lines need a grid over two axes, got %s", describe(v))
}

// mostLevels bounds the contour lines of a grid (a choice: more cannot be told apart).
const mostLevels = 50

// levelsOf reads levels=; contour lines have about eight unless the call says otherwise.
func levelsOf(a Args, s *Series) ([]float64, error) {
	about := 8
	switch v := a.Get("levels").(type) {
	case starlark.NoneType:
		if a.Text("kind") == asMap {
			return nil, nil
		}
	case starlark.Int:
		n, err := a.whole("levels", 1, mostLevels)
		if err != nil {
			return nil, err
		}
		about = n
	default:
		if n := starlark.Len(v); n > mostLevels {
			return nil, fmt.Errorf("levels= has %d values, more than the limit of %d", n, mostLevels)
		}
		items, _ := elements(v)
		var levels []float64
		for _, item := range items {
			q, _ := toQuantity(item)
			r, err := q.In(s.unit)
			if err != nil {
				return nil, fmt.Errorf("levels: %w", err)
			}
			levels = append(levels, significant(r.Value, 12))
		}
		return levels, nil
	}
	lo, hi := s.extremes()
	if lo < 0 {
		return nil, fmt.Errorf("the %s has no values", s.Type())
	}
	return figure.RoundValues(s.values[lo], s.values[hi], about), nil
}
