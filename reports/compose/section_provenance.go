package compose

import (
	"fmt"
	"slices"

	"wedgework/reports/document"
	"wedgework/reports/notebook"
	"wedgework/reports/record"
)

// provenance says what the report was computed from: program, notebook, inputs, constants, settings, numbers of the
// model, and the source of every cell.
func provenance(s Source) []document.Section {
	b := []document.Block{document.Fields{Rows: []document.Field{
		{Name: "Program", Value: s.Record.Program.Name + " " + s.Record.Program.Version},
		{Name: "Toolchain", Value: s.Record.Program.Go},
		{Name: "Notebook", Value: s.Record.Notebook.Name},
		{Name: "Notebook SHA-256", Value: s.Record.Notebook.SHA256},
	}}}
	inputs := document.Table{Caption: "Inputs", Columns: columns("Name", "File", ">Bytes", "SHA-256")}
	inputs.Columns[1].Mono, inputs.Columns[3].Mono = true, true // to the letter
	for _, in := range s.Outcome.Inputs {
		for _, f := range in.Files {
			inputs.Rows = append(inputs.Rows, []string{in.Name, f.Name, fmt.Sprint(len(f.Data)), f.SHA256})
		}
	}
	if len(inputs.Rows) > 0 {
		b = append(b, inputs)
	}
	for _, t := range []document.Table{hashes("Material constants", "Material", s.Record.Constants),
		hashes("Fonts added", "File", s.Record.Fonts)} {
		if len(t.Rows) > 0 {
			b = append(b, t)
		}
	}
	if len(s.Outcome.Settings) > 0 {
		b = append(b, settings(s.Outcome.Settings))
	}
	b = append(b, modelTables(s)...)
	all := []document.Section{{Title: "Provenance", Level: 1, Blocks: b}}
	if cells := cellSources(s.Outcome.Notebook); len(cells) > 0 {
		all = append(all, document.Section{Title: "Cell sources", Level: 1, Blocks: cells})
	}
	return all
}

// settings lists what given() returned.
func settings(all []record.Setting) document.Table {
	t := document.Table{Caption: "Settings", Columns: columns("Name", "Value", "From")}
	for _, v := range all {
		from := "notebook"
		if v.Bound {
			from = "command line"
		}
		t.Rows = append(t.Rows, []string{v.Name, v.Value, from})
	}
	return t
}

// modelTables lists the parameters of the specified models, once for all units that share them, and of designs.
func modelTables(s Source) []document.Block {
	var b []document.Block
	for _, group := range alike(s.units(), func(a, b unit) bool { return slices.Equal(a.Model, b.Model) }) {
		u := group[0]
		if len(u.Model) == 0 {
			continue
		}
		caption := "Parameters of the specified model"
		if len(s.Record.Units) > 1 {
			caption += ", " + who(group, s.units())
		}
		b = append(b, modelTable(caption, u.Model))
	}
	for _, d := range s.Record.Designs {
		if len(d.Model) > 0 {
			b = append(b, modelTable("Parameters of "+d.Design, d.Model))
		}
	}
	return b
}

// modelTable lists parameters in two columns.
func modelTable(caption string, all []record.Figure) document.Table {
	t := document.Table{Caption: caption, Columns: columns("Parameter", ">Value", "Unit", "Parameter", ">Value",
		"Unit")}
	half := (len(all) + 1) / 2
	for i, p := range all[:half] {
		second := record.Figure{}
		if half+i < len(all) {
			second = all[half+i]
		}
		t.Rows = append(t.Rows, []string{p.Name, p.Value.Text(), unitText(p.Unit), second.Name, second.Value.Text(),
			unitText(second.Unit)})
	}
	return t
}

// cellSources is the source of every cell that runs.
func cellSources(nb *notebook.Notebook) []document.Block {
	var cells []document.Block
	for i, c := range nb.Cells {
		if c.Type == notebook.CodeCell && c.Source != "" {
			cells = append(cells, document.Heading{Level: 3, Text: fmt.Sprintf("Cell %d", i+1)},
				document.Code{Text: c.Source})
		}
	}
	return cells
}

// hashes lists what travels with the report, each with what it can be told by.
func hashes(caption, head string, files []record.Source) document.Table {
	t := document.Table{Caption: caption, Columns: columns(head, ">Bytes", "SHA-256")}
	t.Columns[0].Mono, t.Columns[2].Mono = true, true // to the letter
	for _, f := range files {
		t.Rows = append(t.Rows, []string{f.Name, fmt.Sprint(f.Bytes), f.SHA256})
	}
	return t
}
