package main

import (
	"wedgework/reports/document"
	"wedgework/reports/notebook"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
)

// compose puts a document together from the record and the executed notebook.
func compose(rec *record.Record, o *rerun.Outcome) (document.Document, error) {
	d := document.Document{Title: rec.Header.Title, Subtitle: "Verification report"}
	for _, f := range append([]document.Field{
		{Name: "Part", Value: rec.Header.Part},
		{Name: "Revision", Value: rec.Header.Revision},
		{Name: "Change record", Value: rec.Header.Change},
	}, rec.Header.Extra...) {
		if f.Value != "" {
			d.Identity = append(d.Identity, f)
		}
	}
	for _, v := range o.Verified {
		d.Verdicts = append(d.Verdicts, rerun.Verdicts(v.Result)...)
	}
	narrative := document.Section{Title: "Notebook", Level: 1}
	for _, c := range o.Notebook.Cells {
		switch c.Type {
		case notebook.MarkdownCell:
			narrative.Blocks = append(narrative.Blocks, document.Markdown(c.Source)...)
		case notebook.CodeCell:
			narrative.Blocks = append(narrative.Blocks, cellBlocks(c)...)
		}
	}
	d.Sections = append(d.Sections, narrative, provenance(rec))
	return d, nil
}

// cellBlocks are a cell's source and outputs.
func cellBlocks(c notebook.Cell) []document.Block {
	blocks := []document.Block{document.Code{Text: c.Source}}
	for _, out := range c.Outputs {
		text, _ := out.Data["text/plain"].(string)
		switch {
		case out.Blocks != nil:
			blocks = append(blocks, out.Blocks...)
		case out.Type == notebook.StreamOutput:
			blocks = append(blocks, document.Code{Text: out.Text})
		case text != "":
			blocks = append(blocks, document.Code{Text: text})
		}
	}
	return blocks
}

// provenance says what the report was made from.
func provenance(rec *record.Record) document.Section {
	files := document.Table{
		Caption: "Files",
		Columns: []document.Column{{Head: "Input"}, {Head: "File"}, {Head: "SHA-256"}},
		Rows:    [][]string{{"notebook", rec.Notebook.Name, rec.Notebook.SHA256}},
	}
	for _, in := range rec.Inputs {
		files.Rows = append(files.Rows, []string{in.Name, in.File.Name, in.File.SHA256})
	}
	s := document.Section{Title: "Provenance", Level: 1, Blocks: []document.Block{
		document.Fields{Rows: []document.Field{
			{Name: "Program", Value: rec.Program.Name + " " + rec.Program.Version},
			{Name: "Toolchain", Value: rec.Program.Go},
		}},
		files,
	}}
	for _, c := range rec.Cautions {
		s.Blocks = append(s.Blocks, document.Caution{Text: c})
	}
	return s
}
