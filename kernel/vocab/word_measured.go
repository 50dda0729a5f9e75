package vocab

import (
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/measured"
)

var _ = Register(Word{
	Name:    "measured",
	Summary: "a named input of readings, which a rerun binds to other files by its name",
	Params: []Param{
		{Name: "name", Kind: textKind.of("name", `"sweep"`), Doc: "the name that --data NAME=FILE binds"},
		{Name: "default", Kind: textKind.of("path", `"data/unit.csv"`), Mode: Keyword, Default: starlark.String(""), Doc: "the file to read when nothing is bound, relative to the notebook"},
	},
	Returns: "measured data: .isolation, .insertion_loss, .pdl, .dgd, .return_loss as series or grids, .at(temperature), .unit, .lot, .temperatures, .meta, .file; a lot is walked like a list",
	Errors:  "nothing is bound and there is no default, or a file is not what the reader expects",
	Example: `measured("sweep", default="sweep.csv")`,
	Detail: "The file has a row per wavelength and temperature, a unit in every column's head, and \"# key: value\" lines at " +
		"the top that reach the report. An empty field was not measured.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		host, err := hostOf(t)
		if err != nil {
			return nil, err
		}
		name := a.Text("name")
		if name == "" {
			return nil, a.refuse("name", `a name such as "sweep"`)
		}
		files, err := host.Input(name, a.Text("default"))
		if err != nil {
			return nil, err
		}
		if len(files) == 0 {
			return nil, fmt.Errorf("the input %q holds no file", name)
		}
		m := newMeasured(name)
		for _, f := range files {
			table, err := session.Await(session.ContextOf(t), func() (*measured.Table, error) { return measured.Read(f) })
			if err != nil {
				return nil, err
			}
			m.tables = append(m.tables, perUnit(table)...)
		}
		return m, nil
	},
})

// perUnit parts a file that holds several units into one table for each, in the order they first appear.
func perUnit(t *measured.Table) []*measured.Table {
	var names []string
	for _, u := range t.Units {
		if !slices.Contains(names, u) {
			names = append(names, u)
		}
	}
	if len(names) < 2 {
		return []*measured.Table{t}
	}
	var all []*measured.Table
	for _, name := range names {
		all = append(all, subset(t, func(row int) bool { return t.Units[row] == name }))
	}
	return all
}
