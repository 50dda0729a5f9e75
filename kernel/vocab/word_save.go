package vocab

import (
	"context"
	"errors"
	"fmt"
	"path"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
	"wedgework/reports/drawing"
	"wedgework/reports/fileset"
	"wedgework/reports/sheet"
)

// Saver is a Host that takes files that cells write. It writes them into the folder out/ beside the notebook, or drops
// them where nobody has allowed that and the run must be as it would be.
type Saver interface {
	Host
	Save(name string, data []byte) error
}

var _ = Register(Word{
	Name:    "save",
	Summary: "writes a value into a file of the folder out/ beside the notebook",
	Params: []Param{
		{Name: "name", Kind: textKind.of("file name", `"isolation.csv"`),
			Doc: "the file: .csv or .xlsx for a table, .svg or .png for a figure, .star for values that load() reads"},
		{Name: "value", Kind: anyKind,
			Doc: "what to write: as a table anything that table() takes, trials and their figures, several in a dict " +
				"for the sheets of a workbook; as a figure anything that plot() takes, a panel, a list of panels, a " +
				"stack; for load() numbers, quantities, texts, lists, dicts, sweeps and series, of several names in " +
				"a dict"},
		{Name: "title", Kind: textKind, Mode: Keyword, Optional: true, Doc: "caption of a figure"},
		{Name: "size", Kind: pairKind, Mode: Keyword, Optional: true,
			Doc: "width and height of a figure; default: (170*mm, 85*mm)"},
	},
	Returns: "None",
	Errors: "the name has a folder or another ending, the value has no such form, or nobody has allowed the notebook " +
		"to write files",
	Example: "x = sweep(1540*nm, 1560*nm, 10*nm)\n" +
		"save(\"isolation.csv\", series(x, [30.1*dB, 34.2*dB, 31.0*dB], label=\"isolation\"))",
	Detail: "An open notebook may write if the kernel was installed with wedgework kernel install --save. On the " +
		"command line --save allows it; without it, and when a report is reproduced, the file is made and not " +
		"written. Numbers are written with all digits, their units in the headings. The file is replaced atomically.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		name := a.Text("name")
		if err := fileset.CheckOutName(name); err != nil {
			return nil, err
		}
		host, err := hostOf(t)
		if err != nil {
			return nil, err
		}
		saver, ok := host.(Saver)
		if !ok {
			return nil, errors.New("this session writes no files")
		}
		data, err := fileOf(t, a, strings.ToLower(path.Ext(name)))
		if err != nil {
			return nil, err
		}
		if len(data) > fileset.MostSaved {
			return nil, fmt.Errorf("%s has %d MB, more than the limit of %d MB", name, len(data)>>20,
				fileset.MostSaved>>20)
		}
		return starlark.None, saver.Save(name, data)
	},
})

// fileOf makes the content of a file.
func fileOf(t *starlark.Thread, a Args, ending string) ([]byte, error) {
	v := a.Get("value")
	ctx := session.ContextOf(t)
	if ending != ".svg" && ending != ".png" {
		if err := a.noneOf("belongs to a figure", "title", "size"); err != nil {
			return nil, err
		}
	}
	switch ending {
	case ".csv":
		table, err := savedTable(ctx, "table", v)
		if err != nil {
			return nil, err
		}
		return session.Await(ctx, table.CSV)
	case ".xlsx":
		tables, err := savedTables(ctx, v)
		if err != nil {
			return nil, err
		}
		return session.Await(ctx, func() ([]byte, error) { return sheet.Workbook(tables) })
	case ".svg", ".png":
		f, err := savedFigure(t, a)
		if err != nil {
			return nil, err
		}
		return session.Await(ctx, func() ([]byte, error) {
			if ending == ".png" {
				return document.PNG(f)
			}
			svg, err := document.SVG(f)
			return []byte(svg), err
		})
	case ".star":
		return savedSource(t, a.Text("name"), v)
	}
	return nil, fmt.Errorf("%q: the name must end in .csv, .xlsx, .svg, .png or .star", a.Text("name"))
}

// savedFigure is the figure of a value: what plot() makes of it, or the drawing of a stack.
func savedFigure(t *starlark.Thread, a Args) (document.Figure, error) {
	v := a.Get("value")
	if s, ok := v.(*Stack); ok {
		return session.Await(a.ctx, func() (document.Figure, error) {
			d, err := drawing.New(s.stack, s.stack.Spec().AlignAt, s.stack.Spec().AlignTemperature)
			if err != nil {
				return document.Figure{}, err
			}
			return sizedAs(a, d.Rays()), nil
		})
	}
	things := starlark.Tuple{v}
	if isList(v) && starlark.Len(v) <= mostPanels {
		items, _ := elements(v)
		if _, panels := first[*Panel](items); panels {
			things = items
		}
	}
	if s, ok := v.(shower); ok && !plottable(v) {
		for _, b := range s.blocks() {
			if f, ok := b.(document.Figure); ok {
				return sizedAs(a, f), nil
			}
		}
	}
	plot := Args{word: registry["plot"], ctx: a.ctx, values: map[string]starlark.Value{}, given: map[string]bool{},
		many: things}
	for _, name := range []string{"title", "size"} {
		if a.Has(name) {
			plot.values[name], plot.given[name] = a.Get(name), true
		}
	}
	return plotted(plot)
}

// plottable reports whether plot() takes a value that has a figure of its own.
func plottable(v starlark.Value) bool {
	switch v.(type) {
	case *Panel, *Trials, *Distribution, *Series, *Response, *Responses, *Measured:
		return true
	}
	return false
}

// sizedAs gives a figure the title and the size of a call.
func sizedAs(a Args, f document.Figure) document.Figure {
	if a.Has("title") {
		f.Caption = a.Text("title")
	}
	if items, ok := elements(a.Get("size")); ok {
		width, _ := toQuantity(items[0])
		height, _ := toQuantity(items[1])
		f = f.Sized(width.SI(), height.SI())
	}
	return f
}

// savedTables are the sheets of a workbook: one, or one for each entry of a dict of tables.
func savedTables(ctx context.Context, v starlark.Value) ([]sheet.Table, error) {
	d, ok := v.(*starlark.Dict)
	if !ok || d.Len() == 0 || d.Len() > mostColumns || !tablesIn(d) {
		t, err := savedTable(ctx, "table", v)
		return []sheet.Table{t}, err
	}
	var all []sheet.Table
	for _, kv := range d.Items() {
		t, err := savedTable(ctx, plainText(kv[0]), kv[1])
		if err != nil {
			return nil, fmt.Errorf("%s: %w", plainText(kv[0]), err)
		}
		all = append(all, t)
	}
	return all, nil
}

// tablesIn reports whether each value of a dict is a table by itself rather than a value or a column of one.
func tablesIn(d *starlark.Dict) bool {
	for _, kv := range d.Items() {
		switch v := kv[1].(type) {
		case *Series, *Response, *Responses, *Measured, *Trials, *Distribution, *starlark.Dict:
		case *starlark.List:
			if v.Len() == 0 {
				return false
			}
			if _, rows := v.Index(0).(*starlark.Dict); !rows {
				return false
			}
		default:
			return false
		}
	}
	return true
}
