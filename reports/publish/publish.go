// Package publish makes one report: it reruns a notebook on named inputs and turns what the run leaves into the files
// of the report, all in memory, so that whatever can fail fails before a byte is written. Package fileset writes them.
//
// It prints nothing. The command, the plan of many reports and the reproduction of a report all make theirs here, and
// the same job gives the same bytes to each.
package publish

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wedgework/reports/compose"
	"wedgework/reports/fileset"
	"wedgework/reports/job"
	"wedgework/reports/measured"
	"wedgework/reports/notebook"
	"wedgework/reports/pdf"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
	"wedgework/reports/signature"
)

// Tools are what a job is done with.
type Tools struct {
	Program record.Program                // what makes the report
	Open    rerun.Opener                  // makes the session that runs the cells
	Check   func(expression string) error // of a setting, before anything runs; nil for no check

	// ReadFile reads what the cells ask for by a path. Nil: the folder of the notebook and the roots of the job are open
	// to them, and nothing at all when the notebook is one whose content came with the job.
	ReadFile func(path string) (measured.File, error)
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
	Read     []Read   // files that the notebook read by itself
}

// Make makes a report. A notebook that does not read or is for another kernel, a cell that fails (*rerun.CellError) and
// a bound name that nobody asked for (*rerun.UnaskedError) are errors in the notebook: they begin with its name.
func Make(ctx context.Context, j *job.Job, t Tools) (*Report, error) {
	b, err := prepare(j, t)
	defer b.close()
	if err != nil {
		return nil, err
	}
	nb, err := ReadNotebook(b.notebook.Data)
	if err != nil {
		return nil, b.failed(err)
	}
	b.request.Name, b.request.Notebook = b.notebook.Name, nb
	outcome, err := rerun.Run(ctx, b.request, t.Open)
	if err != nil {
		return nil, b.failed(Unasked(j, err))
	}
	r, err := render(b, j, t.Program, outcome)
	if err != nil {
		return nil, b.failed(err)
	}
	if ctx.Err() != nil {
		return nil, fmt.Errorf("interrupted: %w", ctx.Err())
	}
	r.Read = b.read
	return r, nil
}

// prepare reads all that a job names.
func prepare(j *job.Job, t Tools) (b *bound, err error) {
	b = &bound{close: func() {}}
	if j.Issued.Text != "" {
		if err := job.Day(j.Issued.Text); err != nil {
			return b, j.Issued.At.Wrap(err)
		}
	}
	notebook, err := load(j.Notebook)
	if err != nil {
		return b, j.Notebook.At.Wrap(err)
	}
	if b, err = bind(j, filepath.Dir(j.Notebook.Path), t); err != nil {
		return b, err
	}
	b.notebook = notebook
	b.fonts, err = Fonts(j.Fonts)
	return b, err
}

// failed puts the notebook's name before a failure.
func (b *bound) failed(err error) error { return &NotebookError{b.notebook.Name, err} }

// NotebookError is a failure of a notebook.
type NotebookError struct {
	Name string
	Err  error
}

func (e *NotebookError) Error() string { return e.Name + ": " + e.Err.Error() }

// Unwrap returns the failure.
func (e *NotebookError) Unwrap() error { return e.Err }

// ReadNotebook reads a notebook that is written for this program. One for another kernel is refused; one that names
// none is taken.
func ReadNotebook(data []byte) (*notebook.Notebook, error) {
	nb, err := notebook.Read(data)
	if err != nil {
		return nil, err
	}
	if k := nb.Kernel(); k != "" && k != notebook.KernelName {
		return nil, fmt.Errorf("metadata.kernelspec.name: found %q, expected %q: the cells are in another language", k,
			notebook.KernelName)
	}
	return nb, nil
}

func render(b *bound, j *job.Job, program record.Program, o *rerun.Outcome) (*Report, error) {
	if !o.Reported {
		o.Warnings = append(o.Warnings, "the notebook does not call report(): the report is named after the notebook")
		o.Header.Title = strings.TrimSuffix(b.notebook.Name, ".ipynb")
	}
	executed, err := o.Notebook.Bytes()
	if err != nil {
		return nil, err
	}
	rec := o.Record(program, rerun.Source(b.notebook))
	rec.Issued = j.Issued.Text
	rec.Executed = rerun.Source(measured.NewFile("executed-"+b.notebook.Name, executed))
	var fonts []pdf.Font
	for _, f := range b.fonts {
		rec.Fonts = append(rec.Fonts, rerun.Source(f))
		fonts = append(fonts, pdf.Font{Name: f.Name, Data: f.Data})
	}
	summary, err := rec.Bytes()
	if err != nil {
		return nil, err
	}
	attached := attachments(b.notebook, o, rec, executed, summary)
	doc, unset := compose.Document(compose.Source{Outcome: o, Record: rec})
	page, warnings, err := pdf.Render(doc, pdf.Options{
		Program:     rec.Program.Name + " " + rec.Program.Version,
		Issued:      j.Issued.Text,
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
