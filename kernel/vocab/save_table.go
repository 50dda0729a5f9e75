package vocab

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/measured"
	"wedgework/reports/sheet"
)

// savedTable is a value as a table of numbers with all their digits, whose heads have the units.
func savedTable(ctx context.Context, name string, v starlark.Value) (sheet.Table, error) {
	t := sheet.Table{Name: name}
	var err error
	switch v := v.(type) {
	case *Series:
		t.Columns, err = seriesColumns([]*Series{v})
	case *Response:
		var all []*Series
		for _, f := range responseFigures {
			if one, problem := curveOf(v, f); problem == nil && one != nil {
				all = append(all, one)
			}
		}
		if len(all) == 0 {
			return t, errors.New("a response at one wavelength and temperature is no table: save one over a sweep")
		}
		t.Columns, err = seriesColumns(all)
	case *Responses:
		var all []*Series
		for _, f := range responseFigures {
			if f.among(v) {
				all = append(all, v.figure(f))
			}
		}
		t.Columns, err = seriesColumns(all)
	case *Sweep:
		t.Columns = []sheet.Column{{Head: unitHead(v.what(), v.unit), Numbers: v.values}}
	case *Measured:
		t.Columns, err = readingColumns(v)
	case *Distribution:
		t.Columns = unitColumns([]*Distribution{v})
	case *Trials:
		t.Columns = unitColumns(v.figures)
	case *starlark.Dict:
		t.Columns, err = dictColumns(ctx, v)
	case *starlark.List, starlark.Tuple:
		t.Columns, err = listColumns(ctx, v)
	default:
		t.Columns, err = shownColumns(v)
	}
	return t, err
}

// curveOf is a figure of a response over a sweep, nil for one that it does not have.
func curveOf(r *Response, f responseFigure) (*Series, error) {
	if !f.of(r) {
		return nil, nil
	}
	v, err := r.figure(f)
	s, _ := v.(*Series)
	return s, err
}

func unitHead(name string, u quantity.Unit) string {
	if u == (quantity.Unit{}) || u.Dimension() == quantity.Plain && u.Symbol() == "" {
		return name
	}
	return name + " [" + Unit{u}.String() + "]"
}

// seriesColumns puts the axes first: of a grid both, so that each value has a row.
func seriesColumns(all []*Series) ([]sheet.Column, error) {
	axes := all[0].axes
	columns := make([]sheet.Column, len(axes))
	n := len(all[0].values)
	each := n
	for i, a := range axes {
		columns[i] = sheet.Column{Head: unitHead(a.what(), a.unit), Numbers: make([]float64, n)}
		if a.Len() > 0 {
			each /= a.Len()
		}
		for k := range n {
			columns[i].Numbers[k] = a.values[k/max(each, 1)%a.Len()]
		}
	}
	seen := map[string]int{}
	for _, s := range all {
		if len(s.axes) != len(axes) || len(s.values) != n {
			return nil, errors.New("the series have different axes: save each by itself")
		}
		for i, a := range s.axes {
			if !a.same(axes[i]) {
				return nil, fmt.Errorf("the axes differ: %s does not match %s; interpolate one of them, as in "+
					"y.at(axis)",
					a.brief(), axes[i].brief())
			}
		}
		name := s.label
		if name == "" {
			name = noun(quantity.Quantity{Unit: s.unit})
		}
		if seen[name]++; seen[name] > 1 {
			name = fmt.Sprintf("%s %d", name, seen[name])
		}
		columns = append(columns, sheet.Column{Head: unitHead(name, s.unit), Numbers: s.values})
	}
	return columns, nil
}

// readingColumns are the readings of all files, one a row, as measured() reads them.
func readingColumns(m *Measured) ([]sheet.Column, error) {
	var names []string
	seen := map[string]bool{}
	rows := 0
	for _, t := range m.tables {
		rows += len(t.Wavelength)
		for _, name := range slices.Concat([]string{measured.Isolation, measured.InsertionLoss, measured.PDL,
			measured.DGD,
			measured.ReturnLoss}, slices.Sorted(maps.Keys(t.More))) {
			if !seen[name] && t.Figure(name) != nil {
				seen[name] = true
				names = append(names, name)
			}
		}
	}
	units := sheet.Column{Head: "unit", Texts: make([]string, 0, rows)}
	wavelength := sheet.Column{Head: "wavelength [nm]", Numbers: make([]float64, 0, rows)}
	temperature := sheet.Column{Head: "temperature [degC]", Numbers: make([]float64, 0, rows)}
	for _, t := range m.tables {
		for i := range t.Wavelength {
			units.Texts = append(units.Texts, t.Unit())
			wavelength.Numbers = append(wavelength.Numbers, inNanometres(t.Wavelength[i]).Value)
			at := math.NaN()
			if t.Temperature != nil {
				at = inCelsius(t.Temperature[i]).Value
			}
			temperature.Numbers = append(temperature.Numbers, at)
		}
	}
	columns := []sheet.Column{units, wavelength, temperature}
	for _, name := range names {
		unit, scale := "dB", 1.0
		if strings.HasPrefix(name, measured.DGD) {
			unit, scale = "ps", 1e12
		}
		c := sheet.Column{Head: name + " [" + unit + "]", Numbers: make([]float64, 0, rows)}
		for _, t := range m.tables {
			values := t.Figure(name)
			for i := range t.Wavelength {
				x := math.NaN()
				if values != nil {
					x = significant(values[i]*scale, 12)
				}
				c.Numbers = append(c.Numbers, x)
			}
		}
		columns = append(columns, c)
	}
	return columns, nil
}

// unitColumns has a row for each unit of trials.
func unitColumns(all []*Distribution) []sheet.Column {
	units := sheet.Column{Head: "unit"}
	for i := range all[0].units {
		units.Numbers = append(units.Numbers, float64(i+1))
	}
	columns := []sheet.Column{units}
	for _, d := range all {
		c := sheet.Column{Head: unitHead(d.wanted.name()+", "+d.wanted.where(), d.wanted.in(0).Unit)}
		for _, v := range d.units {
			c.Numbers = append(c.Numbers, d.wanted.in(v).Value)
		}
		columns = append(columns, c)
	}
	return columns
}

// dictColumns makes columns of lists or series by name, or a row of each entry.
func dictColumns(ctx context.Context, d *starlark.Dict) ([]sheet.Column, error) {
	if d.Len() == 0 {
		return nil, errors.New("the dict is empty")
	}
	if d.Len() > mostItems {
		return nil, fmt.Errorf("a dict of %d entries is over the limit of %d", d.Len(), mostItems)
	}
	var all []*Series
	lists := 0
	for _, kv := range d.Items() {
		switch v := kv[1].(type) {
		case *Series:
			one := *v
			one.label = plainText(kv[0])
			all = append(all, &one)
		case *starlark.List, starlark.Tuple:
			lists++
		}
	}
	if len(all) == d.Len() {
		return seriesColumns(all)
	}
	if lists == d.Len() {
		if err := columnsFit(lists); err != nil {
			return nil, err
		}
		var columns []sheet.Column
		for _, kv := range d.Items() {
			c, err := savedColumn(ctx, plainText(kv[0]), kv[1].(starlark.Sequence))
			if err != nil {
				return nil, err
			}
			columns = append(columns, c)
		}
		return columns, nil
	}
	what, value, unit := sheet.Column{Head: "what"}, sheet.Column{Head: "value"}, sheet.Column{Head: "unit"}
	for _, kv := range d.Items() {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		what.Texts = append(what.Texts, plainText(kv[0]))
		q, ok := toQuantity(kv[1])
		if !ok {
			value.Texts, unit.Texts = append(value.Texts, plainText(kv[1])), append(unit.Texts, "")
			continue
		}
		name := ""
		if q.Unit.Symbol() != "" {
			name = Unit{q.Unit}.String()
		}
		value.Texts = append(value.Texts, fmt.Sprint(q.Value))
		unit.Texts = append(unit.Texts, name)
	}
	return []sheet.Column{what, value, unit}, nil
}

// savedColumn is a list as a column: of numbers in the unit of the first, where all are of one dimension, else of
// texts.
func savedColumn(ctx context.Context, head string, list starlark.Sequence) (sheet.Column, error) {
	if list.Len() > mostPoints {
		return sheet.Column{}, fmt.Errorf("a column of %d values is over the limit of %d", list.Len(), mostPoints)
	}
	if values, unit, err := oneUnit(ctx, list); err == nil {
		return sheet.Column{Head: unitHead(head, unit), Numbers: values}, nil
	}
	c := sheet.Column{Head: head, Texts: []string{}}
	for v := range starlark.Elements(list) {
		if err := ctx.Err(); err != nil {
			return c, err
		}
		text := ""
		if v != starlark.None {
			text = plainText(v)
		}
		c.Texts = append(c.Texts, text)
	}
	return c, nil
}

// listColumns makes a table of series, of rows that are dicts, or of one column of values.
func listColumns(ctx context.Context, v starlark.Value) ([]sheet.Column, error) {
	if n := starlark.Len(v); n == 0 || n > mostItems {
		return nil, fmt.Errorf("a list of %d values is no table; expected 1 to %d", n, mostItems)
	}
	items, _ := elements(v)
	switch one := items[0].(type) {
	case *Series:
		if err := columnsFit(len(items)); err != nil {
			return nil, err
		}
		all := make([]*Series, len(items))
		for i, item := range items {
			s, ok := item.(*Series)
			if !ok {
				return nil, fmt.Errorf("value %d must be a series like the first, got %s", i+1, describe(item))
			}
			all[i] = s
		}
		return seriesColumns(all)
	case *starlark.Dict:
		return rowColumns(ctx, one, items)
	}
	if isList(items[0]) {
		t, err := rowTable(ctx, items, -1)
		return textColumns(t), err
	}
	c, err := savedColumn(ctx, "value", v.(starlark.Sequence))
	return []sheet.Column{c}, err
}

// rowColumns makes a table of rows that are dicts with the keys of the first.
func rowColumns(ctx context.Context, one *starlark.Dict, items []starlark.Value) ([]sheet.Column, error) {
	if err := columnsFit(one.Len()); err != nil {
		return nil, err
	}
	var columns []sheet.Column
	for _, key := range one.Keys() {
		list := make([]starlark.Value, len(items))
		for i, item := range items {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			d, ok := item.(*starlark.Dict)
			if !ok || d.Len() != one.Len() {
				return nil, fmt.Errorf("row %d must be a dict with the keys of the first row, got %s", i+1,
					describe(item))
			}
			v, found, err := d.Get(key)
			if err != nil || !found {
				return nil, fmt.Errorf("row %d has no %s", i+1, plainText(key))
			}
			list[i] = v
		}
		c, err := savedColumn(ctx, plainText(key), starlark.Tuple(list))
		if err != nil {
			return nil, err
		}
		columns = append(columns, c)
	}
	return columns, nil
}

// shownColumns is the table that a value shows, as it is printed.
func shownColumns(v starlark.Value) ([]sheet.Column, error) {
	if s, ok := v.(shower); ok {
		for _, b := range s.blocks() {
			switch b := b.(type) {
			case document.Table:
				return textColumns(b), nil
			case document.Fields:
				return textColumns(fieldTable(b)), nil
			}
		}
	}
	return nil, fmt.Errorf("cannot write %s as a table; expected series, a response, measured data, trials, a dict "+
		"or a list of rows", describe(v))
}

func textColumns(t document.Table) []sheet.Column {
	columns := make([]sheet.Column, len(t.Columns))
	for j, c := range t.Columns {
		columns[j] = sheet.Column{Head: c.Head, Texts: make([]string, len(t.Rows))}
		for i, row := range t.Rows {
			columns[j].Texts[i] = row[j]
		}
	}
	return columns
}
