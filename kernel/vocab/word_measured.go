package vocab

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/measured"
)

// TableHost is a Host that wants to know what was read from the files of an input, file by file, so that a
// record need not guess the sheet or the reference.
type TableHost interface {
	Host
	Took(name string, tables []*measured.Table)
}

var _ = Register(Word{
	Name:    "measured",
	Summary: "reads a named input; a rerun can assign other files to the name",
	Params: []Param{
		{Name: "name", Kind: textKind.of("name", `"sweep"`), Doc: "name of the input, for --data NAME=FILE"},
		{Name: "default", Kind: textKind.of("path", `"data/unit.csv"`), Mode: Keyword, Default: starlark.String(""),
			Suggest: filesLike(tables...),
			Doc:     "file to read unless --data assigns another, relative to the notebook"},
		{Name: "reference", Kind: measuredKind, Mode: Keyword, Optional: true,
			Doc: "reference trace for raw powers: another input, measured on the fixture without a unit"},
		{Name: "sheet", Kind: textKind.of("name", `"23 degC"`), Mode: Keyword, Default: starlark.String(""),
			Doc: "worksheet; required if more than one has content"},
		{Name: "condition", Kind: textKind.of("name", `"after damp heat"`), Mode: Keyword, Default: starlark.String(""),
			Doc: "which readings to take, by the column condition or a line \"# condition: ...\" of the file; required " +
				"if a file has more than one condition. Of several files, those of other conditions are not read"},
	},
	Returns: "measured data: .isolation, .insertion_loss, .pdl, .dgd, .return_loss and other figures as series or " +
		"grids, .column(name), .at(temperature), .repeats(n), .unit, .lot, .temperatures, .meta, .warnings, .file, " +
		".source(figure, wavelength); a lot can be looped over like a list",
	Errors: "no file is assigned and there is no default; or a file cannot be read, in which case the message names " +
		"file, line and column (or sheet and cell), what was found and what was expected",
	Example: `measured("sweep", default="sweep.csv")`,
	Detail: "A file is a text (comma, semicolon, tab or aligned columns; decimal point or comma; UTF-8, UTF-16 or " +
		"Windows-1252) or an .xlsx workbook, with a row per wavelength and temperature, a unit for every column, and " +
		"metadata above the column headings, as in \"# unit: 0417\", which appear in the report. It contains losses " +
		"and delays; or powers, as in \"power backward [dBm]\", with a reference; or the powers of four launch " +
		"states, as in \"power forward 45 deg [dBm]\"; or swept Jones matrices, as in \"J11 real\". An empty field " +
		"means not measured; >62 is an isolation of at least 62 dB, <-80 a power of at most -80 dBm. Repeated " +
		"readings are averaged in series, and .spread() gives their scatter. Several files of one unit are joined; a " +
		"file with several units is split by unit.",
	Source: "four states: IEC 61300-3-2, TIA-455-198; Jones matrices: B. L. Heffner, IEEE Photon. Technol. Lett. 4, " +
		"1066 (1992), IEC 61300-3-32",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		host, err := hostOf(t)
		if err != nil {
			return nil, err
		}
		name := a.Text("name")
		if name == "" {
			return nil, a.refuse("name", `a name such as "sweep"`)
		}
		reference, err := referenceOf(a)
		if err != nil {
			return nil, err
		}
		files, err := host.Input(session.ContextOf(t), name, a.Text("default"))
		if err != nil {
			return nil, err
		}
		if len(files) == 0 {
			return nil, fmt.Errorf("no file is assigned to the input %q", name)
		}
		part := measured.Part{Sheet: a.Text("sheet"), Condition: a.Text("condition")}
		tables, err := apart(t, session.ContextOf(t), func() ([]*measured.Table, error) {
			return readAll(session.ContextOf(t), files, part, reference)
		})
		if err != nil {
			return nil, err
		}
		if h, ok := host.(TableHost); ok {
			h.Took(name, tables)
		}
		units, err := measured.Collect(tables...)
		if err != nil {
			return nil, err
		}
		return newMeasured(name, units...), nil
	},
})

// referenceOf returns the table of the reference, nil without one.
func referenceOf(a Args) (*measured.Table, error) {
	m := arg[*Measured](a, "reference")
	if m == nil {
		return nil, nil
	}
	if len(m.tables) != 1 {
		return nil, a.refuse("reference", "one trace")
	}
	return m.tables[0], nil
}

// readAll reads a part of all files. Files without the condition that is asked for are not read where others have it.
func readAll(ctx context.Context, files []measured.File, part measured.Part, reference *measured.Table) (
	[]*measured.Table, error) {
	var tables []*measured.Table
	var left []string
	var none error
	for _, f := range files {
		t, err := measured.ReadPart(ctx, f, part)
		if other := (*measured.Refusal)(nil); errors.As(err, &other) && other.OtherCondition {
			left, none = append(left, f.Name), cmp.Or(none, err)
			continue
		}
		if err == nil && reference != nil {
			t, err = t.Referenced(reference)
		}
		if err != nil {
			return nil, err
		}
		tables = append(tables, t)
	}
	if tables == nil {
		return nil, none
	}
	if left != nil {
		tables[0].Warnings = append(tables[0].Warnings, fmt.Sprintf("without readings of the condition %q, and not read: %s",
			part.Condition, strings.Join(left, ", ")))
	}
	return tables, nil
}
