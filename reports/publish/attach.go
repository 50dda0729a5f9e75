package publish

import (
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"wedgework/reports/measured"
	"wedgework/reports/pdf"
	"wedgework/reports/rerun"
)

const notebookMIME = "application/x-ipynb+json"

// attachments are what travels inside the PDF: all that is needed to make it again.
func attachments(job Job, o *rerun.Outcome, executed, summary []byte) []pdf.Attachment {
	name := job.Notebook.Name
	list := []pdf.Attachment{
		{Name: "record.json", Description: "the record: every figure of the report", MIME: "application/json", Relation: "Data", Data: summary},
		{Name: "source-" + name, Description: "the notebook that was rerun", MIME: notebookMIME, Relation: "Source", Data: job.Notebook.Data},
		{Name: "executed-" + name, Description: "the notebook with its outputs", MIME: notebookMIME, Relation: "Supplement", Data: executed},
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

// inputFiles lists the files of all inputs, each content once.
func inputFiles(o *rerun.Outcome) []measured.File {
	var files []measured.File
	for _, in := range o.Inputs {
		for _, f := range in.Files {
			if !slices.ContainsFunc(files, func(g measured.File) bool { return g.SHA256 == f.SHA256 && g.Name == f.Name }) {
				files = append(files, f)
			}
		}
	}
	return files
}

// free returns name, numbered when another attachment has it: files of different folders may share one.
func free(name string, taken map[string]bool) string {
	ext := filepath.Ext(name)
	stem := strings.TrimSuffix(name, ext)
	for n := 2; taken[name]; n++ {
		name = stem + "-" + strconv.Itoa(n) + ext
	}
	return name
}
