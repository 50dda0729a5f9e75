package vocab

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/reports/measured"
)

var _ = Register(Word{
	Name:    "rows",
	Summary: "reads any table with units, such as film lots or a price list",
	Params: []Param{
		{Name: "file", Kind: textKind.of("path", `"films.csv"`), Suggest: filesLike(tables...),
			Doc: "file to read, relative to the notebook; --data FILE=OTHER assigns another in a rerun"},
		{Name: "sheet", Kind: textKind.of("name", `"lot 7"`), Mode: Keyword, Default: starlark.String(""),
			Doc: "worksheet; required if more than one has content"},
	},
	Returns: "a list with a dict for each row: quantities, numbers or texts by column name; None for an empty field",
	Errors: "there is no such file, a column with a unit has a field that is no number, a name occurs twice, or rows " +
		"have different numbers of fields",
	Example: `[r["rotation"] for r in rows("films.csv") if r["film"] == "A"]`,
	Detail: "The first row has the column headings, with units in brackets, as in \"rotation [deg]\". A bracket that " +
		"holds no unit of the vocabulary, as in \"price [EUR]\", stays part of the name, and the numbers are plain. " +
		"A column without a unit has texts if one of its fields is no number or begins with a zero, as a serial " +
		"number does. Text files and workbooks are read as by measured(). The file is an input of the report: its " +
		"hash is in the record, and the file is attached to the report.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		f, err := companion(t, a.Text("file"))
		if err != nil {
			return nil, err
		}
		ctx := session.ContextOf(t)
		table, err := apart(t, ctx, func() (*measured.Rows, error) {
			return measured.ReadRows(ctx, f, a.Text("sheet"))
		})
		if err != nil {
			return nil, err
		}
		return session.Await(ctx, func() (starlark.Value, error) { return rowList(ctx, table) })
	},
})

// companion reads a file beside the notebook, which is an input of the report and holds no readings.
func companion(t *starlark.Thread, path string) (measured.File, error) {
	host, err := hostOf(t)
	if err != nil {
		return measured.File{}, err
	}
	if strings.TrimSpace(path) == "" {
		return measured.File{}, errors.New(`the path is empty; expected one such as "films.csv"`)
	}
	files, err := host.Input(session.ContextOf(t), path, path)
	if err != nil {
		if plain := errors.Unwrap(err); plain != nil {
			err = plain // without what is said of named inputs, which this is not to its author
		}
		return measured.File{}, err
	}
	if len(files) != 1 {
		return measured.File{}, fmt.Errorf("%s are assigned to %s, expected one", count(len(files), "file"), path)
	}
	if h, ok := host.(TableHost); ok {
		h.Took(path, nil)
	}
	return files[0], nil
}

// rowList makes a dict of every row.
func rowList(ctx context.Context, table *measured.Rows) (starlark.Value, error) {
	list := make([]starlark.Value, len(table.Lines))
	for i := range list {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		d := starlark.NewDict(len(table.Columns))
		for _, c := range table.Columns {
			if err := d.SetKey(starlark.String(c.Name), rowField(c, i)); err != nil {
				return nil, err
			}
		}
		list[i] = d
	}
	return starlark.NewList(list), nil
}

func rowField(c measured.AnyColumn, i int) starlark.Value {
	switch {
	case c.Numbers == nil && c.Texts[i] == "":
		return starlark.None
	case c.Numbers == nil:
		return starlark.String(c.Texts[i])
	case math.IsNaN(c.Numbers[i]):
		return starlark.None
	}
	return fromQuantity(quantity.Quantity{Value: c.Numbers[i], Unit: c.Unit})
}
