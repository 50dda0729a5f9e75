package vocab

import (
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
func tableOf(things starlark.Tuple, digits int) (document.Table, error) {
	if len(things) == 0 {
		return document.Table{}, errors.New("there is nothing to tabulate")
	}
	if _, ok := things[0].(*Series); ok {
		return seriesTable(things, digits)
	}
	if len(things) > 1 {
		return document.Table{}, fmt.Errorf("several things go into one table only when all are series, got %s first", describe(things[0]))
	}
	switch v := things[0].(type) {
	case *Response:
		return responseTable(v, digits)
	case *Measured:
		return measuredTable(v)
	case *starlark.Dict:
		return dictTable(v, digits)
	case *starlark.List, starlark.Tuple:
		items, _ := elements(v)
		return rowTable(items, digits)
	case *Sweep:
		t := document.Table{Columns: []document.Column{head(v.what(), v.unit)}}
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
	return document.Table{}, fmt.Errorf("cannot tabulate %s: series, a response, measured data, a dict, or a list of rows can be", describe(things[0]))
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
			return document.Table{}, fmt.Errorf("beside series a table takes only series, got %s", describe(v))
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
	axis := columns[0].axes[0]
	t := document.Table{Columns: append([]document.Column{head(axis.what(), axis.unit)}, heads...)}
	if axis.Len() > mostRows {
		return t, fmt.Errorf("%d rows are more than a table holds, %d: thin the series, as in y[::10]", axis.Len(), mostRows)
	}
	for _, c := range columns {
		if !c.axes[0].same(axis) {
			return t, fmt.Errorf("the axes differ: %s does not match %s; .at(axis) takes a series to another axis", c.axes[0].brief(), axis.brief())
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
		Columns: []document.Column{{Head: "unit"}, {Head: "temperature", Align: document.Right}, {Head: "wavelength"}, {Head: "readings", Align: document.Right},
			{Head: "least isolation", Align: document.Right}, {Head: "greatest insertion loss", Align: document.Right}},
	}
	for _, table := range m.tables {
		for _, r := range runs(table) {
			lo, hi := table.Wavelength[r.rows[0]], table.Wavelength[r.rows[len(r.rows)-1]]
			t.Rows = append(t.Rows, []string{
				table.Unit(), sensible(inCelsius(r.temperature).Quantity), spanText(inNanometres(lo), inNanometres(hi)), fmt.Sprint(len(r.rows)),
				extremeReading(table, measured.Isolation, r, -1), extremeReading(table, measured.InsertionLoss, r, +1),
			})
		}
	}
	return t, nil
}

func extremeReading(t *measured.Table, column string, r run, sign float64) string {
	readings, best := t.Figure(column), math.NaN()
	for _, i := range r.rows {
		if readings != nil && !math.IsNaN(readings[i]) && !(sign*readings[i] <= sign*best) {
			best = readings[i]
		}
	}
	if math.IsNaN(best) {
		return ""
	}
	return quantity.Of(best, "dB").Text(2)
}

// dictTable has a row for each entry; where the values are lists, each is a column under its key.
func dictTable(d *starlark.Dict, digits int) (document.Table, error) {
	if d.Len() == 0 {
		return document.Table{}, errors.New("the dict is empty")
	}
	columns := 0
	for _, kv := range d.Items() {
		if _, ok := elements(kv[1]); ok {
			columns++
		}
	}
	if columns == 0 {
		t := document.Table{Columns: []document.Column{{Head: "what"}, {Head: "value", Align: document.Right}}}
		for _, kv := range d.Items() {
			t.Rows = append(t.Rows, []string{plainText(kv[0]), entry(kv[1], digits)})
		}
		return t, nil
	}
	var t document.Table
	for _, kv := range d.Items() {
		items, ok := elements(kv[1])
		if !ok {
			return t, fmt.Errorf("%s is not a list, as the other columns are", plainText(kv[0]))
		}
		if len(t.Columns) > 0 && len(items) != len(t.Rows) {
			return t, fmt.Errorf("the column %s has %d rows, the first has %d", plainText(kv[0]), len(items), len(t.Rows))
		}
		if len(t.Columns) == 0 {
			t.Rows = make([][]string, len(items))
		}
		t.Columns = append(t.Columns, document.Column{Head: plainText(kv[0]), Align: alignment(items)})
		for i, v := range items {
			t.Rows[i] = append(t.Rows[i], entry(v, digits))
		}
	}
	return t, nil
}

// rowTable makes a table of a list of rows: dicts, whose keys are the heads, or lists, the first of which
// holds the heads.
func rowTable(items []starlark.Value, digits int) (document.Table, error) {
	var t document.Table
	if len(items) == 0 {
		return t, errors.New("the list is empty")
	}
	if first, ok := items[0].(*starlark.Dict); ok {
		for _, k := range first.Keys() {
			v, _, _ := first.Get(k) // a key of the dict itself
			t.Columns = append(t.Columns, document.Column{Head: plainText(k), Align: alignment([]starlark.Value{v})})
		}
		for i, item := range items {
			d, ok := item.(*starlark.Dict)
			if !ok || d.Len() != first.Len() {
				return t, fmt.Errorf("row %d must be a dict with the keys of the first, got %s", i+1, describe(item))
			}
			var row []string
			for _, k := range first.Keys() {
				v, found, err := d.Get(k)
				if err != nil || !found {
					return t, fmt.Errorf("row %d has no %s", i+1, plainText(k))
				}
				row = append(row, entry(v, digits))
			}
			t.Rows = append(t.Rows, row)
		}
		return t, nil
	}
	for i, item := range items {
		cells, ok := elements(item)
		if !ok || i > 0 && len(cells) != len(t.Columns) {
			return t, fmt.Errorf("row %d must be a list with as many values as the first, which holds the heads; got %s", i+1, describe(item))
		}
		if i == 0 {
			for _, h := range cells {
				t.Columns = append(t.Columns, document.Column{Head: plainText(h)})
			}
			continue
		}
		var row []string
		for j, v := range cells {
			if i == 1 {
				t.Columns[j].Align = alignment(cells[j : j+1])
			}
			row = append(row, entry(v, digits))
		}
		t.Rows = append(t.Rows, row)
	}
	return t, nil
}

// alignment sets numbers to the right.
func alignment(items []starlark.Value) document.Align {
	for _, v := range items {
		if _, ok := toQuantity(v); ok {
			return document.Right
		}
	}
	return document.Left
}

func entry(v starlark.Value, digits int) string {
	q, ok := toQuantity(v)
	switch {
	case !ok:
		return plainText(v)
	case digits >= 0:
		return q.Text(digits)
	}
	return sensible(q)
}

// plainText is str(): a text without quotes.
func plainText(v starlark.Value) string {
	if s, ok := starlark.AsString(v); ok {
		return s
	}
	return v.String()
}
