package vocab

import (
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/measured"
)

// Measured is the readings bound to a named input, as a cell holds them: one table, or several when the
// input is a lot.
type Measured struct {
	opaque
	input  string
	tables []*measured.Table
}

var measuredKind = instance[*Measured](`measured data such as measured("sweep", default="data/unit.csv")`)

// newMeasured wraps tables.
func newMeasured(input string, tables ...*measured.Table) *Measured {
	return &Measured{opaque{"measured"}, input, tables}
}

func (m *Measured) String() string {
	if len(m.tables) == 1 {
		t := m.tables[0]
		return fmt.Sprintf("<measured %s: %s%s>", m.input, count(t.Rows(), "row"), unitText(t))
	}
	return fmt.Sprintf("<measured %s: %s>", m.input, count(len(m.tables), "file"))
}

func unitText(t *measured.Table) string {
	if u := t.Unit(); u != "" {
		return " of unit " + u
	}
	return ""
}

// Len, Index and Iterate give the files of a lot one by one.
func (m *Measured) Len() int                   { return len(m.tables) }
func (m *Measured) Index(i int) starlark.Value { return newMeasured(m.input, m.tables[i]) }
func (m *Measured) Iterate() starlark.Iterator { return &iterator{m, 0} }

// measuredFigures are the columns that become series, as cells call them.
var measuredFigures = []struct {
	name, column string
	unit         quantity.Unit
}{
	{"isolation", measured.Isolation, decibel},
	{"insertion_loss", measured.InsertionLoss, decibel},
	{"pdl", measured.PDL, decibel},
	{"dgd", measured.DGD, picosecond},
	{"return_loss", measured.ReturnLoss, decibel},
}

// Attr returns a figure as a series or grid, or what the file says of itself.
func (m *Measured) Attr(name string) (starlark.Value, error) {
	if b := measuredMethods.bind(m, name); b != nil {
		return b, nil
	}
	if !slices.Contains(m.AttrNames(), name) {
		return nil, nil
	}
	t, err := m.one()
	if err != nil {
		return nil, err
	}
	for _, f := range measuredFigures {
		if f.name == name {
			return figureOf(t, f.name, f.column, f.unit)
		}
	}
	switch name {
	case "unit":
		return starlark.String(t.Unit()), nil
	case "lot":
		return starlark.String(t.Lot()), nil
	case "file":
		return starlark.String(t.File.Name), nil
	case "sha256":
		return starlark.String(t.File.SHA256), nil
	case "rows":
		return starlark.MakeInt(t.Rows()), nil
	case "polarization":
		return starlark.String(t.Polarization()), nil
	case "temperatures":
		var list starlark.Tuple
		for _, r := range runs(t) {
			list = append(list, inCelsius(r.temperature))
		}
		return list, nil
	}
	d := starlark.NewDict(len(t.Meta)) // meta
	for _, kv := range t.Meta {
		if err := d.SetKey(starlark.String(kv.Key), starlark.String(kv.Value)); err != nil {
			return nil, err
		}
	}
	d.Freeze()
	return d, nil
}

// AttrNames lists the fields and methods.
func (m *Measured) AttrNames() []string {
	names := measuredMethods.names("unit", "lot", "file", "sha256", "rows", "polarization", "temperatures", "meta")
	for _, f := range measuredFigures {
		names = append(names, f.name)
	}
	slices.Sort(names)
	return names
}

func (m *Measured) one() (*measured.Table, error) {
	if len(m.tables) == 1 {
		return m.tables[0], nil
	}
	return nil, fmt.Errorf("the input %q holds %d files: take one, as in d[0], or walk them with for", m.input, len(m.tables))
}

func (m *Measured) blocks() []document.Block {
	var blocks []document.Block
	for _, t := range m.tables {
		rows := []document.Field{
			{Name: "file", Value: t.File.Name}, {Name: "SHA-256", Value: t.File.SHA256},
			{Name: "unit", Value: t.Unit()}, {Name: "lot", Value: t.Lot()},
			{Name: "rows", Value: fmt.Sprint(t.Rows())},
		}
		for _, r := range runs(t) {
			lo, hi := t.Wavelength[r.rows[0]], t.Wavelength[r.rows[len(r.rows)-1]]
			rows = append(rows, document.Field{Name: "run at " + sensible(inCelsius(r.temperature).Quantity),
				Value: count(len(r.rows), "reading") + ", " + spanText(inNanometres(lo), inNanometres(hi))})
		}
		if p := t.Polarization(); p != measured.Unstated {
			rows = append(rows, document.Field{Name: "source polarization", Value: string(p)})
		}
		blocks = append(blocks, fields("Measured: "+m.input, rows...))
		for _, u := range t.Unknown {
			blocks = append(blocks, document.Plain("The column "+u+" is kept and not used."))
		}
	}
	return blocks
}

// json says what the data is; the figures are series of their own.
func (m *Measured) json() any {
	var all []any
	for _, t := range m.tables {
		all = append(all, map[string]any{
			"file": t.File.Name, "sha256": t.File.SHA256, "unit": t.Unit(), "lot": t.Lot(), "rows": t.Rows(),
		})
	}
	return all
}
