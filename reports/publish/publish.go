// Package publish makes one report: it reruns a notebook on named inputs and turns what the run leaves into the files
// of the report, all in memory, so that whatever can fail fails before a byte is written. Package fileset writes them.
//
// It prints nothing. The command, the plan of many reports and the reproduction of a report all make theirs here, and
// the same job gives the same bytes to each.
package publish

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"wedgework/reports/compose"
	"wedgework/reports/document"
	"wedgework/reports/html"
	"wedgework/reports/job"
	"wedgework/reports/measured"
	"wedgework/reports/notebook"
	"wedgework/reports/pdf"
	"wedgework/reports/record"
	"wedgework/reports/recording"
	"wedgework/reports/rerun"
)

// Tools are what a job is done with.
type Tools struct {
	Program record.Program                // what makes the report
	Open    rerun.Opener                  // makes the session that runs the cells
	Check   func(expression string) error // of a setting, before anything runs; nil for no check

	// ReadFile reads what the cells ask for by a path. Nil: the folder of the notebook and the roots of the job are
	// open to them, and nothing at all when the notebook is one whose content came with the job.
	ReadFile func(ctx context.Context, path string) (measured.File, error)

	// Save writes files that cells make. Nil: they are dropped.
	Save func(name string, data []byte) error

	// Executed is the executed notebook that the report carries in place of that of the run: where a report is made
	// again to be compared, the one of then. Report.Notebook is that of the run all the same. Nil: that of the run.
	Executed []byte

	// KeepValid leaves a report that stands as it is when every figure that it prints would be printed again.
	KeepValid bool
}

// Report is a report in memory.
type Report struct {
	Notebook   []byte            // the executed notebook
	JSON       []byte            // the record
	PDF        []byte            // carries the other two
	HTML       []byte            // the same report as a page for a screen
	Signatures map[string][]byte // of the PDF, by role, to stand beside it

	Record   *record.Record
	Warnings []string // for the person who asked for the report, in order
	Read     []Read   // files that the notebook read by itself
	Unsaved  []string // files that cells made and nobody wrote

	// StillValid is a report that stands and prints the figures that this one would: see Tools.KeepValid. There is no
	// PDF.
	StillValid bool

	stands  *Standing // where it goes; nil for not looked at
	source  measured.File
	outcome *rerun.Outcome
}

// Make makes a report. A notebook that does not read or is for another kernel, a cell that fails (*rerun.CellError) and
// a bound name that nobody asked for (*rerun.UnaskedError) are errors in the notebook: they begin with its name.
func Make(ctx context.Context, j *job.Job, t Tools) (*Report, error) {
	b, err := prepare(ctx, j, t)
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
	r, err := render(b, j, t, outcome)
	if err != nil {
		return nil, b.failed(err)
	}
	if ctx.Err() != nil {
		return nil, fmt.Errorf("interrupted: %w", ctx.Err())
	}
	r.Read, r.Unsaved = b.read, outcome.Unsaved
	if r.StillValid {
		return r, nil
	}
	return r, b.sign(r)
}

// prepare reads all that a job names.
func prepare(ctx context.Context, j *job.Job, t Tools) (b *bound, err error) {
	b = &bound{release: func() {}}
	if j.Issued.Text != "" {
		if err := job.Day(j.Issued.Text); err != nil {
			return b, j.Issued.At.Wrap(err)
		}
	}
	if j.Paper.Text != "" {
		if err := job.CheckPaper(j.Paper.Text); err != nil {
			return b, j.Paper.At.Wrap(err)
		}
	}
	if j.Number.Text != "" {
		if err := checkGiven(j.Number.Text); err != nil {
			return b, j.Number.At.Wrap(err)
		}
	}
	notebook, err := load(ctx, j.Notebook)
	if err != nil {
		return b, j.Notebook.At.Wrap(err)
	}
	if b, err = bind(ctx, j, filepath.Dir(j.Notebook.Path), t); err != nil {
		return b, err
	}
	b.notebook = notebook
	// before the work: one that does not read should not cost a rerun
	if b.keys, err = loadKeys(j.Signing); err != nil {
		return b, err
	}
	if b.fonts, err = Fonts(ctx, j.Fonts); err != nil {
		return b, err
	}
	if j.Output.Text != "" && j.Bears == nil {
		b.stands, err = Stands(j.Output.Text)
	}
	return b, j.Output.At.Wrap(err)
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

func render(b *bound, j *job.Job, t Tools, o *rerun.Outcome) (*Report, error) {
	if !o.Reported {
		o.Warnings = append(o.Warnings, "the notebook does not call report(): the report is named after the notebook")
		o.Header.Title = strings.TrimSuffix(b.notebook.Name, ".ipynb")
	}
	executed, err := o.Notebook.Bytes()
	if err != nil {
		return nil, err
	}
	rec := recording.Run(o, t.Program, recording.Source(b.notebook))
	rec.Issued = j.Issued.Text
	if paper := cmp.Or(j.Paper.Text, o.Paper); paper != "a4" {
		rec.Paper = paper
	}
	carried := executed
	if t.Executed != nil {
		carried = t.Executed
	}
	rec.Executed = recording.Source(measured.NewFile("executed-"+b.notebook.Name, carried))
	var fonts []pdf.Font
	for _, f := range b.fonts {
		rec.Fonts = append(rec.Fonts, recording.Source(f))
		fonts = append(fonts, pdf.Font{Name: f.Name, Data: f.Data})
	}
	if t.KeepValid && b.stands != nil {
		if bare, err := rec.Bytes(); err != nil || b.stands.sameFigures(bare, executed) {
			return &Report{StillValid: true, Record: rec, Warnings: o.Warnings}, err
		}
	}
	same, err := identify(rec, j, b.stands)
	if err != nil {
		return nil, err
	}
	r := &Report{Notebook: executed, Record: rec, Warnings: o.Warnings, stands: b.stands, source: b.notebook,
		outcome: o}
	if same && b.stands.kept() == "signed" { // as a signed one it stays, to the byte
		return r, r.take(b.stands)
	}
	if r.JSON, err = rec.Bytes(); err != nil {
		return nil, err
	}
	attached, err := attachments(b.notebook, o, rec, carried, r.JSON)
	if err != nil {
		return nil, err
	}
	digest := record.Digest(r.JSON)
	if j.Bears != nil { // made by another version of the program, the record is another, and every page would be
		digest = j.Bears.Digest
	}
	doc, unset := compose.Document(compose.Source{Outcome: o, Record: rec, Digest: digest})
	screen := webPage(doc, rec, r.JSON, attached)
	page, warnings, err := pdf.Render(doc, pdf.Options{
		Program:     rec.Program.Name + " " + rec.Program.Version,
		Issued:      j.Issued.Text,
		Fonts:       fonts,
		Paper:       rec.Paper,
		Attachments: attached,
	})
	if err != nil {
		return nil, err
	}
	if err := carries(page, attached); err != nil {
		return nil, fmt.Errorf("the report cannot be read back, and is not written: %w", err)
	}
	r.PDF, r.Warnings = page, slices.Concat(o.Warnings, unset, warnings)
	r.HTML, err = screen(record.Digest(page))
	return r, err
}

// PageOf makes the page for a screen of another report, whose record, executed notebook and PDF say the same as those
// of this one: it was made by another version of the program, which the page names.
func (r *Report) PageOf(rec *record.Record, json, executed, file []byte) ([]byte, error) {
	doc, _ := compose.Document(compose.Source{Outcome: r.outcome, Record: rec, Digest: record.Digest(json)})
	attached, err := attachments(r.source, r.outcome, rec, executed, json)
	if err != nil {
		return nil, err
	}
	return webPage(doc, rec, json, attached)(record.Digest(file))
}

// webPage begins to make the report for a screen from the document of the PDF; what it returns ends it with the digest
// of that.
func webPage(doc document.Document, rec *record.Record, json []byte,
	attached []pdf.Attachment) func(pdf string) ([]byte, error) {
	o := html.Options{
		Program: rec.Program.Name + " " + rec.Program.Version, Number: rec.Number,
		Record: record.Digest(json),
	}
	for _, a := range attached {
		o.Files = append(o.Files, html.File{Name: a.Name, Description: a.Description, Bytes: len(a.Data),
			SHA256: record.Digest(a.Data)})
	}
	return html.Begin(doc, o)
}
