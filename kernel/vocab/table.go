package vocab

import (
	"context"
	"errors"
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/measured"
)

// mostRows bounds a table that is printed; a longer series is thinned by the cell, not silently here.
const mostRows = 500

// tableOf makes a table of any value.
func tableOf(ctx context.Context, things starlark.Tuple, digits int) (document.Table, error) {
	if len(things) == 0 {
		return document.Table{}, errors.New("there is nothing to tabulate")
	}
	if _, ok := things[0].(*Series); ok {
		return seriesTable(things, digits)
	}
	if len(things) > 1 {
		return document.Table{}, fmt.Errorf("a table of several arguments takes series only, got %s first",
			describe(things[0]))
	}
	switch v := things[0].(type) {
	case *Response:
		return responseTable(v, digits)
	case *Measured:
		return measuredTable(v)
	case *starlark.Dict:
		return dictTable(ctx, v, digits)
	case *starlark.List, starlark.Tuple:
		if err := rowsFit(starlark.Len(v), "tabulate a part of the list, as in rows[:100]"); err != nil {
			return document.Table{}, err
		}
		items, _ := elements(v)
		return rowTable(ctx, items, digits)
	case *Sweep:
		t := document.Table{Columns: []document.Column{head(v.what(), v.unit)}}
		if err := rowsFit(v.Len(), "tabulate a coarser sweep"); err != nil {
			return t, err
		}
		for i := range v.values {
			t.Rows = append(t.Rows, []string{written(quantity.Quantity{Value: v.values[i]})})
		}
		return t, nil
	case shower:
		for _, b := range v.blocks() {
			if t, ok := b.(document.Table); ok {
				return t, nil
			}
			if f, ok := b.(document.Fields); ok {
				return fieldTable(f), nil
			}
		}
	}
	return document.Table{}, fmt.Errorf("cannot tabulate %s; expected series, a response, measured data, a dict or a "+
		"list of rows", describe(things[0]))
}

// rowsFit refuses more rows than a table holds.
func rowsFit(n int, advice string) error {
	if n > mostRows {
		return fmt.Errorf("a table of %d rows is too long (limit %d): %s", n, mostRows, advice)
	}
	return nil
}

// mostColumns bounds the columns of a table (a choice: no page and no screen is as wide).
const mostColumns = 100

func columnsFit(n int) error {
	if n > mostColumns {
		return fmt.Errorf("%d columns are more than a table holds, %d", n, mostColumns)
	}
	return nil
}

func head(name string, u quantity.Unit) document.Column {
	if s := u.Symbol(); s != "" {
		name += " [" + s + "]"
	}
	return document.Column{Head: name, Align: document.Right}
}

// seriesTable puts the axis in the first column and each series in one of its own. A grid has a column
// for each row of it.
func seriesTable(things starlark.Tuple, digits int) (document.Table, error) {
	var columns []*Series
	var heads []document.Column
	for _, v := range things {
		s, ok := v.(*Series)
		if !ok {
			return document.Table{}, fmt.Errorf("a table of several arguments takes series only, got %s", describe(v))
		}
		name := s.label
		if name == "" {
			name = noun(quantity.Quantity{Unit: s.unit})
		}
		if len(s.axes) == 1 {
			columns, heads = append(columns, s), append(heads, head(name, s.unit))
			continue
		}
		for i := range s.Len() {
			columns = append(columns, s.Index(i).(*Series))
			heads = append(heads, head(name+", "+sensible(s.axes[0].quantity(i)), s.unit))
		}
	}
	if err := columnsFit(len(columns) + 1); err != nil {
		return document.Table{}, err
	}
	axis := columns[0].axes[0]
	t := document.Table{Columns: append([]document.Column{head(axis.what(), axis.unit)}, heads...)}
	if err := rowsFit(axis.Len(), "thin the series, as in y[::10]"); err != nil {
		return t, err
	}
	for _, c := range columns {
		if !c.axes[0].same(axis) {
			return t, fmt.Errorf("the axes differ: %s does not match %s; interpolate one of them, as in y.at(axis)",
				c.axes[0].brief(), axis.brief())
		}
	}
	for i := range axis.Len() {
		row := []string{written(quantity.Quantity{Value: axis.values[i]})}
		for _, c := range columns {
			row = append(row, cell(c.at(i), columnDigits(c, digits)))
		}
		t.Rows = append(t.Rows, row)
	}
	return t, nil
}

// columnDigits is the number of decimals of a whole column: what was asked for, and for levels what the
// greatest of them calls for. Otherwise it is -1, and each value shows its significant digits.
func columnDigits(s *Series, asked int) int {
	if asked >= 0 || s.unit.Dimension() != quantity.OfLevel {
		return asked
	}
	greatest := 0.0
	for _, v := range s.values {
		if !math.IsNaN(v) {
			greatest = max(greatest, math.Abs(v))
		}
	}
	return levelDigits(greatest)
}

// cell prints a value of a column whose head names the unit; what was not measured stays empty.
func cell(q quantity.Quantity, digits int) string {
	if math.IsNaN(q.Value) {
		return ""
	}
	bare := quantity.Quantity{Value: q.Value}
	if digits >= 0 {
		return bare.Text(digits)
	}
	return sensible(bare)
}

func responseTable(r *Response, digits int) (document.Table, error) {
	if r.at.point() {
		return fieldTable(r.blocks()[0].(document.Fields)), nil
	}
	var things starlark.Tuple
	for _, f := range responseFigures {
		if !f.of(r) {
			continue
		}
		if v, err := r.figure(f); err == nil {
			things = append(things, v)
		}
	}
	return seriesTable(things, digits)
}

func fieldTable(f document.Fields) document.Table {
	t := document.Table{Caption: f.Caption, Columns: []document.Column{{Head: "what"}, {Head: "value"}}}
	for _, r := range f.Rows {
		t.Rows = append(t.Rows, []string{r.Name, r.Value})
	}
	return t
}

// measuredTable sums up each run of each file: a reader wants its extremes, and the file has the rest.
func measuredTable(m *Measured) (document.Table, error) {
	t := document.Table{
		Caption: "Measured: " + m.input,
		Columns: []document.Column{{Head: "unit"}, {Head: "temperature", Align: document.Right}, {Head: "wavelength"},
			{Head: "readings", Align: document.Right},
			{Head: "minimum isolation", Align: document.Right}, {Head: "maximum insertion loss",
				Align: document.Right}},
	}
	for _, table := range m.tables {
		for _, r := range table.Runs() {
			lo, hi := table.Wavelength[r.Rows[0]], table.Wavelength[r.Rows[len(r.Rows)-1]]
			t.Rows = append(t.Rows, []string{
				table.Unit(), sensible(inCelsius(r.Temperature).Quantity), spanText(inNanometres(lo), inNanometres(hi)),
				fmt.Sprint(len(r.Rows)),
				extremeReading(table, measured.Isolation, r, -1), extremeReading(table, measured.InsertionLoss, r, +1),
			})
		}
	}
	return t, nil
}

func extremeReading(t *measured.Table, column string, r measured.Run, sign float64) string {
	readings, best := t.Figure(column), math.NaN()
	for _, i := range r.Rows {
		if readings != nil && !math.IsNaN(readings[i]) && !(sign*readings[i] <= sign*best) {
			best = readings[i]
		}
	}
	if math.IsNaN(best) {
		return ""
	}
	return quantity.Of(best, "dB").Text(2)
}
