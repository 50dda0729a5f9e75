package main

import (
	"path/filepath"
	"strconv"
	"strings"

	"wedgework/reports/compose"
	"wedgework/reports/pdf"
	"wedgework/reports/rerun"
)

// render makes the three files of a report in memory: whatever can fail fails before a byte is written.
func (a *app) render(source *sourceNotebook, o *rerun.Outcome, paths []string) ([]target, error) {
	if !o.Reported {
		o.Warnings = append(o.Warnings, "the notebook does not call report(): the report is named after the notebook")
		o.Header.Title = strings.TrimSuffix(source.Name, ".ipynb")
	}
	executed, err := o.Notebook.Bytes()
	if err != nil {
		return nil, err
	}
	rec := o.Record(program(), source.Source)
	summary, err := rec.Bytes()
	if err != nil {
		return nil, err
	}
	doc := compose.Document(compose.Source{Outcome: o, Record: rec})
	page, warnings, err := pdf.Render(doc, pdf.Options{
		Program:     rec.Program.Name + " " + rec.Program.Version,
		Attachments: attachments(source, o, executed, summary),
	})
	if err != nil {
		return nil, err
	}
	for _, w := range append(o.Warnings, warnings...) {
		a.say("warning: %s", w)
	}
	return []target{{paths[0], executed}, {paths[1], summary}, {paths[2], page}}, nil
}

// attachments are what travels inside the PDF: all that is needed to make it again.
func attachments(source *sourceNotebook, o *rerun.Outcome, executed, summary []byte) []pdf.Attachment {
	list := []pdf.Attachment{
		{Name: "record.json", Description: "the record: every figure of the report", MIME: "application/json", Relation: "Data", Data: summary},
		{Name: "source-" + source.Name, Description: "the notebook that was rerun", MIME: notebookMIME, Relation: "Source", Data: source.data},
		{Name: "executed-" + source.Name, Description: "the notebook with its outputs", MIME: notebookMIME, Relation: "Supplement", Data: executed},
	}
	taken := map[string]bool{}
	for _, a := range list {
		taken[a.Name] = true
	}
	for _, f := range inputFiles(o) {
		name := free(f.Name, taken)
		taken[name] = true
		list = append(list, pdf.Attachment{
			Name: name, Description: "readings, SHA-256 " + f.SHA256, MIME: "text/csv", Relation: "Source", Data: f.Data,
		})
	}
	return list
}

const notebookMIME = "application/x-ipynb+json"

// free returns name, numbered when another attachment has it: files of different folders may share one.
func free(name string, taken map[string]bool) string {
	ext := filepath.Ext(name)
	stem := strings.TrimSuffix(name, ext)
	for n := 2; taken[name]; n++ {
		name = stem + "-" + strconv.Itoa(n) + ext
	}
	return name
}
