package vocab

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"wedgework/optics/quantity"
)

// Series is a quantity over a sweep, or, as a grid, over a sweep of temperature by a sweep of
// wavelength. Values that were not measured are NaN; the figures of a series leave them out.
type Series struct {
	field
	told bool // the label is somebody's words, and no name of a figure
}

var (
	_ starlark.Sliceable  = (*Series)(nil)
	_ starlark.Sequence   = (*Series)(nil)
	_ starlark.HasBinary  = (*Series)(nil)
	_ starlark.HasUnary   = (*Series)(nil)
	_ starlark.HasAttrs   = (*Series)(nil)
	_ starlark.Comparable = (*Series)(nil)
)

// newSeries returns the series of values in a unit over an axis; it takes both over.
func newSeries(label string, axis *Sweep, unit quantity.Unit, values []float64) *Series {
	return &Series{field: field{[]*Sweep{axis}, unit, values, label}}
}

// newGrid returns values[row][column] over two axes.
func newGrid(label string, rows, columns *Sweep, unit quantity.Unit, values [][]float64) *Series {
	f := field{[]*Sweep{rows, columns}, unit, make([]float64, 0, rows.Len()*columns.Len()), label}
	for _, row := range values {
		f.values = append(f.values, row...)
	}
	return &Series{field: f}
}

// unwrap returns the plain quantity of a field without axes.
func (s *Series) unwrap() starlark.Value {
	if len(s.axes) == 0 {
		return fromQuantity(s.at(0))
	}
	return s
}

// Type is "series" over one axis and "grid" over two.
func (s *Series) Type() string {
	if len(s.axes) > 1 {
		return "grid"
	}
	return "series"
}

func (s *Series) Freeze()               {}
func (s *Series) Truth() starlark.Bool  { return len(s.values) > 0 }
func (s *Series) Hash() (uint32, error) { return 0, errors.New("unhashable: " + s.Type()) }
func (s *Series) String() string        { return "<" + strings.TrimPrefix(s.brief(), "a ") + ">" }

// brief describes the series in a line: what, over what, from least to greatest.
func (s *Series) brief() string {
	b := article(s.Type())
	if s.label != "" {
		b += " of " + s.label
	}
	b += " over " + briefAxes(s.axes)
	if lo, hi := s.extremes(); lo >= 0 {
		b += fmt.Sprintf("; minimum %s, maximum %s", s.rounded(lo), s.rounded(hi))
	}
	return b
}

// rounded shows a computed value with the digits that mean something to a reader.
func (s *Series) rounded(i int) string { return sensible(s.at(i)) }

// extremes returns the places of the least and the greatest value, -1 when there is none.
func (s *Series) extremes() (least, greatest int) {
	least, greatest = -1, -1
	for i, v := range s.values {
		if math.IsNaN(v) {
			continue
		}
		if least < 0 || v < s.values[least] {
			least = i
		}
		if greatest < 0 || v > s.values[greatest] {
			greatest = i
		}
	}
	return least, greatest
}

// Dimension keeps a series from being compared with a quantity or a number.
func (s *Series) Dimension() string {
	return s.Type() + " of " + noun(quantity.Quantity{Unit: s.unit})
}

// Len is the number of points, of rows for a grid.
func (s *Series) Len() int { return s.axes[0].Len() }

// Index returns a value, a row of a grid as a series.
func (s *Series) Index(i int) starlark.Value {
	if len(s.axes) > 1 {
		n := s.axes[1].Len()
		return newSeries(s.label, s.axes[1], s.unit, s.values[i*n:(i+1)*n])
	}
	return fromQuantity(s.at(i))
}

func (s *Series) Iterate() starlark.Iterator { return &iterator{s, 0} }

// Slice keeps the points, or the rows of a grid, that s[start:end:step] names.
func (s *Series) Slice(start, end, step int) starlark.Value {
	axis := s.axes[0].Slice(start, end, step).(*Sweep)
	if len(s.axes) == 1 {
		return newSeries(s.label, axis, s.unit, slice(s.values, start, end, step))
	}
	rows := slice(s.rows(), start, end, step)
	return newGrid(s.label, axis, s.axes[1], s.unit, rows)
}

// rows returns the values row by row; a series is one row.
func (s *Series) rows() [][]float64 {
	if len(s.axes) == 1 {
		return [][]float64{s.values}
	}
	n := s.axes[1].Len()
	rows := make([][]float64, s.axes[0].Len())
	for i := range rows {
		rows[i] = s.values[i*n : (i+1)*n]
	}
	return rows
}

// Binary works point by point with numbers, quantities and series on the same axes.
func (s *Series) Binary(op syntax.Token, y starlark.Value, side starlark.Side) (starlark.Value, error) {
	return flip(op, s, y, side)
}

// Unary is +s and -s.
func (s *Series) Unary(op syntax.Token) (starlark.Value, error) { return unary(op, s) }

// Power is s ** y.
func (s *Series) Power(y starlark.Value) (starlark.Value, error) {
	return each(s, func(q quantity.Quantity) (quantity.Quantity, error) { return power(q, y) })
}

// CompareSameType knows equality only: same axes and same values.
func (s *Series) CompareSameType(op syntax.Token, y starlark.Value, _ int) (bool, error) {
	if op != syntax.EQL && op != syntax.NEQ {
		return false, fmt.Errorf("series cannot be ordered: compare their .min(), .max() or .at()")
	}
	return s.equal(y.(*Series)) == (op == syntax.EQL), nil
}

func (s *Series) equal(t *Series) bool {
	if len(s.axes) != len(t.axes) {
		return false
	}
	for i := range s.axes {
		if !s.axes[i].same(t.axes[i]) {
			return false
		}
	}
	for i := range s.values {
		if c, err := quantity.Compare(s.at(i), t.at(i)); err != nil || c != 0 {
			return false
		}
	}
	return true
}

// json keeps the axis of a series, or the axes of a grid, and the units: values is an array, of a grid one of its
// rows. A
// missing value is null.
func (s *Series) json() any {
	numbers := func(values []float64) []any {
		list := make([]any, len(values))
		for i, v := range values {
			list[i] = number(v)
		}
		return list
	}
	var axes []any
	for _, a := range s.axes {
		axes = append(axes, map[string]any{"name": a.what(), "unit": Unit{a.unit}.String(),
			"values": numbers(a.values)})
	}
	m := map[string]any{"label": s.label, "unit": Unit{s.unit}.String()}
	if len(s.axes) == 1 {
		m["axis"], m["values"] = axes[0], numbers(s.values)
		return m
	}
	var rows []any
	for _, row := range s.rows() {
		rows = append(rows, numbers(row))
	}
	m["axes"], m["values"] = axes, rows
	return m
}

// Attr returns a field or a method.
func (s *Series) Attr(name string) (starlark.Value, error) { return seriesType.attr(s, name) }

// AttrNames lists them.
func (s *Series) AttrNames() []string { return seriesType.names(s) }

var seriesType = newType("series", seriesMethods,
	valueAttr("axis", "sweep", "the sweep over which the values are given", func(s *Series) (starlark.Value, error) {
		if len(s.axes) > 1 {
			return nil, errors.New("a grid has two axes: use .axes, or select a series as in .at(23*degC)")
		}
		return s.axes[0], nil
	}),
	tupleAttr("axes", "the axes: one of a series, two of a grid", func(s *Series) []*Sweep { return s.axes }),
	unitAttr("unit of the values", func(s *Series) quantity.Unit { return s.unit }),
	textAttr("label", "name in plots and tables", func(s *Series) string { return s.label }),
	valueAttr("values", "list", "values as plain numbers in .unit; for a grid, a list for each row",
		func(s *Series) (starlark.Value, error) {
			if len(s.axes) == 1 {
				return floats(s.values), nil
			}
			var items []starlark.Value
			for _, row := range s.rows() {
				items = append(items, floats(row))
			}
			return starlark.NewList(items), nil
		}).work(),
).of("quantity")
