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

// measuredKind is set apart from its words, whose parameters are of it.
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
	return fmt.Sprintf("<measured %s: %s>", m.input, count(len(m.tables), "unit"))
}

func unitText(t *measured.Table) string {
	if u := t.Unit(); u != "" {
		return " of unit " + u
	}
	return ""
}

// Len, Index and Iterate give the units of a lot one by one.
func (m *Measured) Len() int                   { return len(m.tables) }
func (m *Measured) Index(i int) starlark.Value { return newMeasured(m.input, m.tables[i]) }
func (m *Measured) Iterate() starlark.Iterator { return &iterator{m, 0} }

// measuredFigures are the columns that become series, as cells call them.
var measuredFigures = []struct {
	name, column string
	unit         quantity.Unit
	summary      string
}{
	{"isolation", measured.Isolation, decibel, "measured isolation, dB"},
	{"insertion_loss", measured.InsertionLoss, decibel, "measured insertion loss, dB"},
	{"pdl", measured.PDL, decibel, "measured polarization-dependent loss (PDL), dB"},
	{"dgd", measured.DGD, picosecond, "measured differential group delay (DGD), ps"},
	{"return_loss", measured.ReturnLoss, decibel, "measured return loss, dB"},
	{"isolation_mean", measured.IsolationMean, decibel, "measured isolation, mean over polarization, dB"},
	{"insertion_loss_min", measured.InsertionLossMin, decibel,
		"measured insertion loss, minimum over polarization, dB"},
	{"insertion_loss_max", measured.InsertionLossMax, decibel,
		"measured insertion loss, maximum over polarization, dB"},
	{"pdl_backward", measured.BackwardPDL, decibel, "measured backward polarization-dependent loss (PDL), dB"},
	{"dgd_backward", measured.BackwardDGD, picosecond, "measured backward differential group delay (DGD), ps"},
	{"insertion_loss_slow", measured.InsertionLossSlow, decibel,
		"measured insertion loss of light launched along the slow axis, dB"},
	{"insertion_loss_fast", measured.InsertionLossFast, decibel,
		"measured insertion loss of light launched along the fast axis, dB"},
	{"extinction_ratio", measured.ExtinctionRatio, decibel,
		"measured extinction ratio at the end of a polarization-maintaining fibre, dB"},
}

// measuredFacts are what a file says of itself, as cells call them.
var measuredFacts = []attr[*Measured]{
	textFact("unit", "serial number of the unit, from the file", (*measured.Table).Unit),
	textFact("lot", "lot of the unit, from the file", (*measured.Table).Lot),
	textFact("condition", "condition of the readings (before, during or after a test), from the file",
		func(t *measured.Table) string { return t.Condition }),
	textFact("file", "name of the file", func(t *measured.Table) string { return t.File.Name }),
	textFact("sheet", "worksheet, if the file is a workbook", func(t *measured.Table) string { return t.Sheet }),
	textFact("sha256", "SHA-256 of the file", func(t *measured.Table) string { return t.File.SHA256 }),
	fact("rows", "int", "number of rows in the file",
		func(t *measured.Table) (starlark.Value, error) { return starlark.MakeInt(t.Rows()), nil }),
	textFact("polarization", "polarization of the source, from the file",
		func(t *measured.Table) string { return string(t.Polarization()) }),
	tupleFact("temperatures", "temperatures of the measured sweeps, degC", temperaturesOf),
	tupleFact("columns", "column headings, as in the file", func(t *measured.Table) starlark.Value {
		return textsOf(t.Columns, func(c measured.Column) string { return c.Head })
	}),
	tupleFact("warnings", "warnings about the readings, a sentence each",
		func(t *measured.Table) starlark.Value { return texts(t.Notes()) }),
	tupleFact("remarks", "comment lines of the file other than metadata", func(t *measured.Table) starlark.Value {
		return textsOf(t.Remarks, func(r measured.Remark) string { return r.Text })
	}),
	tupleFact("files", "names of all files that the rows came from", func(t *measured.Table) starlark.Value {
		return textsOf(sourcesOf(t), func(s measured.Source) string { return s.File.Name })
	}),
	fact("meta", "dict", "metadata of the file, by key",
		func(t *measured.Table) (starlark.Value, error) { return metaOf(t), nil }).work(),
}

// Attr returns a field or a method.
func (m *Measured) Attr(name string) (starlark.Value, error) { return measuredType.attr(m, name) }

// AttrNames lists them.
func (m *Measured) AttrNames() []string { return measuredType.names(m) }

var measuredType = newType("measured", measuredMethods, measuredAttrs()...).of("measured")

func measuredAttrs() []attr[*Measured] {
	all := slices.Clone(measuredFacts)
	for _, f := range measuredFigures {
		all = append(all, fact(f.name, "series", f.summary, func(t *measured.Table) (starlark.Value, error) {
			return figureOf(t, f.name, f.column, f.unit)
		}).work())
	}
	return all
}

// fact is a field of the one table that the data holds.
func fact(name, gives, summary string, get func(*measured.Table) (starlark.Value, error)) attr[*Measured] {
	return valueAttr(name, gives, summary, func(m *Measured) (starlark.Value, error) {
		t, err := m.one()
		if err != nil {
			return nil, err
		}
		return get(t)
	})
}

func textFact(name, summary string, get func(*measured.Table) string) attr[*Measured] {
	return fact(name, "string",
		summary, func(t *measured.Table) (starlark.Value, error) { return starlark.String(get(t)), nil })
}

func tupleFact(name, summary string, get func(*measured.Table) starlark.Value) attr[*Measured] {
	return fact(name, "tuple", summary, func(t *measured.Table) (starlark.Value, error) { return get(t), nil }).work()
}

func (m *Measured) one() (*measured.Table, error) {
	if len(m.tables) == 1 {
		return m.tables[0], nil
	}
	return nil, fmt.Errorf("the input %q holds %d units: select one, as in d[0], or loop over them with for",
		m.input, len(m.tables))
}

func temperaturesOf(t *measured.Table) starlark.Value {
	var list starlark.Tuple
	if t.Temperature == nil {
		return list
	}
	for _, r := range t.Runs() {
		list = append(list, inCelsius(r.Temperature))
	}
	return list
}

func metaOf(t *measured.Table) starlark.Value {
	d := starlark.NewDict(len(t.Meta))
	for _, kv := range t.Meta {
		if _, twice, _ := d.Get(starlark.String(kv.Key)); !twice { // the first holds
			_ = d.SetKey(starlark.String(kv.Key), starlark.String(kv.Value)) // fails on frozen dicts only
		}
	}
	d.Freeze()
	return d
}

// sourcesOf lists the files that the rows of a table came from.
func sourcesOf(t *measured.Table) []measured.Source {
	if t.Sources == nil {
		return []measured.Source{{File: t.File, Sheet: t.Sheet}}
	}
	return t.Sources
}

func textsOf[T any](all []T, text func(T) string) starlark.Value {
	list := make(starlark.Tuple, len(all))
	for i, v := range all {
		list[i] = starlark.String(text(v))
	}
	return list
}

func (m *Measured) blocks() []document.Block {
	var blocks []document.Block
	for _, t := range m.tables {
		var rows []document.Field
		for _, s := range sourcesOf(t) {
			name := s.File.Name
			if s.Sheet != "" {
				name += ", sheet " + s.Sheet
			}
			rows = append(rows, document.Field{Name: "file", Value: name}, document.Field{Name: "SHA-256",
				Value: s.File.SHA256})
		}
		rows = append(rows, document.Field{Name: "unit", Value: t.Unit()}, document.Field{Name: "lot", Value: t.Lot()})
		if t.Condition != "" {
			rows = append(rows, document.Field{Name: "condition", Value: t.Condition})
		}
		rows = append(rows, document.Field{Name: "rows", Value: fmt.Sprint(t.Rows())})
		for _, r := range t.Runs() {
			lo, hi := t.Wavelength[r.Rows[0]], t.Wavelength[r.Rows[len(r.Rows)-1]]
			name := "run"
			if t.Temperature != nil {
				name = "run at " + sensible(inCelsius(r.Temperature).Quantity)
			}
			rows = append(rows, document.Field{Name: name, Value: count(len(r.Rows),
				"reading") + ", " + spanText(inNanometres(lo), inNanometres(hi))})
		}
		if p := t.Polarization(); p != measured.Unstated {
			rows = append(rows, document.Field{Name: "source polarization", Value: string(p)})
		}
		blocks = append(blocks, fields("Measured: "+m.input, rows...))
		for _, n := range t.Notes() {
			blocks = append(blocks, document.Plain(document.Capital(n)+"."))
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
