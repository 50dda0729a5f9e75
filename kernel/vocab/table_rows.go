package vocab

import (
	"context"
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
)

// dictTable has a row for each entry; where the values are lists, each is a column under its key.
func dictTable(ctx context.Context, d *starlark.Dict, digits int) (document.Table, error) {
	if d.Len() == 0 {
		return document.Table{}, errors.New("the dict is empty")
	}
	if err := rowsFit(d.Len(), "tabulate a part of it"); err != nil {
		return document.Table{}, err
	}
	columns := 0
	for _, kv := range d.Items() {
		if isList(kv[1]) {
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
	if err := columnsFit(d.Len()); err != nil {
		return t, err
	}
	for _, kv := range d.Items() {
		if !isList(kv[1]) {
			return t, fmt.Errorf("the column %s must be a list like the others", plainText(kv[0]))
		}
		if err := rowsFit(starlark.Len(kv[1]), "tabulate a part of the lists, as in x[:100]"); err != nil {
			return t, err
		}
		items, _ := elements(kv[1])
		if len(t.Columns) > 0 && len(items) != len(t.Rows) {
			return t, fmt.Errorf("the column %s has %d rows, the first has %d", plainText(kv[0]), len(items),
				len(t.Rows))
		}
		if len(t.Columns) == 0 {
			t.Rows = make([][]string, len(items))
		}
		t.Columns = append(t.Columns, document.Column{Head: plainText(kv[0]), Align: alignment(items)})
		for i, v := range items {
			if err := ctx.Err(); err != nil {
				return t, err
			}
			t.Rows[i] = append(t.Rows[i], entry(v, digits))
		}
	}
	return t, nil
}

// dictRows makes a table of rows that are dicts, with the keys of the first as heads.
func dictRows(
	ctx context.Context, first *starlark.Dict, items []starlark.Value, digits int,
) (document.Table, error) {
	var t document.Table
	if err := columnsFit(first.Len()); err != nil {
		return t, err
	}
	for _, k := range first.Keys() {
		v, _, _ := first.Get(k) // a key of the dict itself
		t.Columns = append(t.Columns, document.Column{Head: plainText(k), Align: alignment([]starlark.Value{v})})
	}
	for i, item := range items {
		if err := ctx.Err(); err != nil {
			return t, err
		}
		d, ok := item.(*starlark.Dict)
		if !ok || d.Len() != first.Len() {
			return t, fmt.Errorf("row %d must be a dict with the keys of the first row, got %s", i+1,
				describe(item))
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

// rowTable makes a table of a list of rows: dicts, whose keys are the heads, or lists, the first of which
// holds the heads.
func rowTable(ctx context.Context, items []starlark.Value, digits int) (document.Table, error) {
	var t document.Table
	if len(items) == 0 {
		return t, errors.New("the list is empty")
	}
	if paths, ok := pathsTable(items); ok {
		return paths, nil
	}
	if first, ok := items[0].(*starlark.Dict); ok {
		return dictRows(ctx, first, items, digits)
	}
	for i, item := range items {
		if err := ctx.Err(); err != nil {
			return t, err
		}
		if _, ok := item.(starlark.Indexable); ok && starlark.Len(item) > mostColumns {
			return t, columnsFit(starlark.Len(item))
		}
		cells, ok := elements(item)
		if !ok || i > 0 && len(cells) != len(t.Columns) {
			return t, fmt.Errorf("row %d must be a list with as many values as the first row, which has the column "+
				"headings; got %s", i+1, describe(item))
		}
		if i == 0 {
			if err := columnsFit(len(cells)); err != nil {
				return t, err
			}
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
	if s, ok := starlark.AsString(v); ok && len(s) <= cellText {
		return s
	}
	return session.Text(v, cellText)
}

// cellText is how many bytes of a value that is no number stand in a cell of a table (a choice).
const cellText = 2000
