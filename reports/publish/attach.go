package publish

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"wedgework/reports/archive"
	"wedgework/reports/dsi"
	"wedgework/reports/measured"
	"wedgework/reports/pdf"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
)

const notebookMIME = "application/x-ipynb+json"

// attachments are what travels inside the PDF: all that is needed to make it again.
func attachments(source measured.File, o *rerun.Outcome, rec *record.Record,
	executed, summary []byte) ([]pdf.Attachment, error) {
	measurement, err := dsi.Write(rec)
	if err != nil {
		return nil, err
	}
	list := []pdf.Attachment{
		{Name: record.FileName, Description: "the record: every figure of the report", MIME: "application/json",
			Relation: "Data", Data: summary},
		{Name: "source-" + source.Name, Description: "the notebook that was rerun", MIME: notebookMIME,
			Relation: "Source",
			Data:     source.Data},
		{Name: rec.Executed.Name, Description: "the notebook with its outputs", MIME: notebookMIME,
			Relation: "Supplement",
			Data:     executed},
	}
	if measurement != nil {
		list = append(list, pdf.Attachment{Name: dsi.FileName, Description: "the measurements as quantities in D-SI",
			MIME: "application/xml", Relation: "Data", Data: measurement})
	}
	for _, c := range o.Constants {
		list = append(list, pdf.Attachment{
			Name: "constants-" + plainName(c.Name) + ".json", Description: "constants of " + c.Name + ", SHA-256 " +
				c.SHA256,
			MIME: "application/json", Relation: "Supplement", Data: c.Data,
		})
	}
	taken := map[string]bool{}
	for _, a := range list {
		taken[a.Name] = true
	}
	for _, f := range inputFiles(o) {
		name := free(f.Name, taken)
		taken[name] = true
		list = append(list, pdf.Attachment{
			Name: name, Description: "input, SHA-256 " + f.SHA256, MIME: mimeOf(name), Relation: "Source", Data: f.Data,
		})
	}
	return list, nil
}

// plainName makes a file name of a material's name: "Bi:RIG" becomes "Bi-RIG".
func plainName(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' {
			return r
		}
		return '-'
	}, s)
}

// carries reads a finished file back: a report must never take the place of a good one and carry something else.
func carries(page []byte, want []pdf.Attachment) error {
	f, err := archive.Open(page)
	if err != nil {
		return err
	}
	got, err := f.Attachments()
	if err != nil {
		return err
	}
	if len(got) != len(want) {
		return fmt.Errorf("it carries %d files of %d", len(got), len(want))
	}
	for _, w := range want {
		same := func(a archive.Attachment) bool { return a.Name == w.Name && bytes.Equal(a.Data, w.Data) }
		if !slices.ContainsFunc(got, same) {
			return fmt.Errorf("it does not carry %s as it is", w.Name)
		}
	}
	return nil
}

// mimeOf names the kind of an input by its extension; readings without a known one are text.
func mimeOf(name string) string {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".png":
		return "image/png"
	case ".jpg", ".jpeg":
		return "image/jpeg"
	case ".star":
		return "text/plain"
	case ".gif":
		return "image/gif"
	case ".xlsx":
		return "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
	}
	return "text/csv"
}

// inputFiles lists the files of all inputs, each content once.
func inputFiles(o *rerun.Outcome) []measured.File {
	var files []measured.File
	for _, in := range o.Inputs {
		for _, f := range in.Files {
			if !slices.ContainsFunc(files, func(g measured.File) bool {
				return g.SHA256 == f.SHA256 &&
					g.Name == f.Name
			}) {
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
