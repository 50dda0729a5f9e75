// Package publish makes one report: it reruns a notebook on named inputs and turns what the run leaves into the files
// of the report, all in memory, so that whatever can fail fails before a byte is written. Package fileset writes them.
//
// It knows no flags and prints nothing. The command, the plan of many reports and the reproduction of a report all
// make theirs here, and the same job gives the same bytes to each.
package publish

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"

	"wedgework/reports/compose"
	"wedgework/reports/fileset"
	"wedgework/reports/measured"
	"wedgework/reports/notebook"
	"wedgework/reports/pdf"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
	"wedgework/reports/signature"
)

// Job says what one report is made from.
type Job struct {
	Notebook measured.File // base name and content of the notebook; see measured.NewFile

	// Data, Settings and ReadFile are those of rerun.Request.
	Data     map[string][]measured.File
	Settings map[string]string
	ReadFile func(path string) (measured.File, error)

	Issued  string          // the day that the report bears, as 2026-11-25 (see Day); "" for none
	Fonts   []measured.File // for characters that the program's own fonts lack; asked in turn
	Program record.Program  // what makes the report
	Open    rerun.Opener    // makes the session that runs the cells
}

// Report is a report in memory.
type Report struct {
	Notebook  []byte // the executed notebook
	JSON      []byte // the record
	PDF       []byte // carries the other two
	Signature []byte // of the PDF, to stand beside it; nil for none

	Record   *record.Record
	Verified []rerun.Verification
	Warnings []string // for the person who asked for the report, in order
}

// Make makes a report. A notebook that does not read or is for another kernel, a cell that fails (*rerun.CellError) and
// a bound name that nobody asked for (*rerun.UnaskedError) are errors; they do not name the notebook.
func Make(ctx context.Context, job Job) (*Report, error) {
	nb, err := ReadNotebook(job.Notebook.Data)
	if err != nil {
		return nil, err
	}
	outcome, err := rerun.Run(ctx, rerun.Request{
		Name: job.Notebook.Name, Notebook: nb,
		Data: job.Data, Settings: job.Settings, ReadFile: job.ReadFile,
	}, job.Open)
	if err != nil {
		return nil, err
	}
	r, err := render(job, outcome)
	if err != nil {
		return nil, err
	}
	if ctx.Err() != nil {
		return nil, fmt.Errorf("interrupted: %w", ctx.Err())
	}
	return r, nil
}

// Day reads a day as it is written by ISO 8601, 2026-11-25, and returns it so.
func Day(s string) (string, error) {
	day, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return "", fmt.Errorf("found %q, expected a day such as 2026-11-25", s)
	}
	return day.Format(time.DateOnly), nil
}

// KernelName is what a notebook names in its kernelspec when it is written for this program.
const KernelName = "wedgework"

// ReadNotebook reads a notebook that is written for this program. One for another kernel is refused; one that names none
// is taken.
func ReadNotebook(data []byte) (*notebook.Notebook, error) {
	nb, err := notebook.Read(data)
	if err != nil {
		return nil, err
	}
	if k := nb.Kernel(); k != "" && k != KernelName {
		return nil, fmt.Errorf("metadata.kernelspec.name: found %q, expected %q: the cells are in another language", k, KernelName)
	}
	return nb, nil
}

func render(job Job, o *rerun.Outcome) (*Report, error) {
	if !o.Reported {
		o.Warnings = append(o.Warnings, "the notebook does not call report(): the report is named after the notebook")
		o.Header.Title = strings.TrimSuffix(job.Notebook.Name, ".ipynb")
	}
	executed, err := o.Notebook.Bytes()
	if err != nil {
		return nil, err
	}
	rec := o.Record(job.Program, rerun.Source(job.Notebook))
	rec.Issued = job.Issued
	rec.Executed = rerun.Source(measured.NewFile("executed-"+job.Notebook.Name, executed))
	var fonts []pdf.Font
	for _, f := range job.Fonts {
		rec.Fonts = append(rec.Fonts, rerun.Source(f))
		fonts = append(fonts, pdf.Font{Name: f.Name, Data: f.Data})
	}
	summary, err := rec.Bytes()
	if err != nil {
		return nil, err
	}
	attached := attachments(job.Notebook, o, rec, executed, summary)
	doc, unset := compose.Document(compose.Source{Outcome: o, Record: rec})
	page, warnings, err := pdf.Render(doc, pdf.Options{
		Program:     rec.Program.Name + " " + rec.Program.Version,
		Issued:      job.Issued,
		Fonts:       fonts,
		Attachments: attached,
	})
	if err != nil {
		return nil, err
	}
	if err := carries(page, attached); err != nil {
		return nil, fmt.Errorf("the report cannot be read back, and is not written: %w", err)
	}
	return &Report{
		Notebook: executed, JSON: summary, PDF: page,
		Record: rec, Verified: o.Verified, Warnings: slices.Concat(o.Warnings, unset, warnings),
	}, nil
}

// Sign makes the signature of the report.
func (r *Report) Sign(key *signature.Key) (err error) {
	r.Signature, err = key.Sign(r.PDF)
	return err
}

// Files returns the files of the report at a path that Paths has accepted, in the order in which they are to be put in
// place: the PDF last. A signature that is there goes when the report is not signed and is another one than it was made
// for.
func (r *Report) Files(out string) []fileset.File {
	paths := beside(out)
	files := []fileset.File{{Path: paths[0], Data: r.Notebook}, {Path: paths[1], Data: r.JSON}}
	signed := out + signature.Extension
	if r.Signature != nil || stale(signed, out, r.PDF) {
		files = append(files, fileset.File{Path: signed, Data: r.Signature})
	}
	return append(files, fileset.File{Path: paths[2], Data: r.PDF})
}

// stale tells whether there is a signature, of something else than the new content.
func stale(signed, path string, content []byte) bool {
	if _, err := os.Lstat(signed); err != nil {
		return false
	}
	now, err := os.ReadFile(path)
	return err != nil || !bytes.Equal(now, content)
}
