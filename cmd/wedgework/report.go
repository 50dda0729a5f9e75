package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"

	"github.com/spf13/cobra"

	"wedgework/reports/job"
	"wedgework/reports/publish"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
	"wedgework/reports/signature"
)

func (a *app) reportCommand() *cobra.Command {
	var f reportFlags
	c := &cobra.Command{
		Use:   "report NOTEBOOK.ipynb --out REPORT.pdf",
		Short: "rerun a notebook on named inputs and write the report",
		Long: `report reruns a notebook with files assigned to its named inputs and expressions to its settings. It writes
REPORT.pdf, REPORT.html (the same for a screen, in one file), REPORT.json (the record) and REPORT.ipynb (the
executed notebook): all of them or none.

Exit status: 0 every verdict passes; 1 the report is written and some verdict does not pass (undecided counts
as not); 2 nothing is written.`,
		Example: "  wedgework report verify-single-stage.ipynb --data sweep=0417.csv --out 0417.pdf",
		Args:    exactly(1, "a notebook"),
		RunE: func(c *cobra.Command, args []string) error {
			j, err := f.job(args[0])
			if err != nil {
				return err
			}
			return a.report(c.Context(), j, f.save)
		},
	}
	f.flags(c)
	return c
}

// reportFlags are what the command line says of a report.
type reportFlags struct {
	bindings
	out, issued, number, paper string
	fonts, sign                []string
	save                       bool
}

func (f *reportFlags) flags(c *cobra.Command) {
	f.bindings.flags(c)
	saveFlag(c, &f.save)
	c.Flags().StringArrayVar(&f.fonts, "font", nil, "TrueType `FILE` for characters missing from the built-in fonts")
	c.Flags().StringVar(&f.out, "out", "", "the report to write, `REPORT.pdf`")
	c.Flags().StringVar(&f.issued, "issued", "",
		"`DATE` of issue, such as 2026-11-25; if omitted, the report shows only the dates in the data files")
	c.Flags().StringVar(&f.number, "number", "",
		"report `NUMBER`; a later report under it gets NUMBER-2 and so on; if omitted, one is derived from the content")
	c.Flags().StringVar(&f.paper, "paper", "", "`a4 or letter`; if omitted, what report(paper=) says, else a4")
	c.Flags().StringArrayVar(&f.sign, "sign", nil, signUsage)
}

// signUsage explains the keys that sign.
const signUsage = "sign with `[ROLE=]KEY`, an OpenSSH key file, or KEY.pub for a key in ssh-agent; roles: prepared, " +
	"reviewed, approved"

// job reads the flags into a job.
func (f *reportFlags) job(notebook string) (*job.Job, error) {
	if f.out == "" {
		return nil, hinted{errors.New("report: found no --out, expected --out REPORT.pdf"), "see wedgework help report"}
	}
	j := &job.Job{
		Notebook: job.File{Path: notebook}, Fonts: flagged("--font", f.fonts),
		Issued: job.Text{Text: f.issued, At: "--issued"}, Output: job.Text{Text: f.out, At: "--out"},
		Number: job.Text{Text: f.number, At: "--number"}, Paper: job.Text{Text: f.paper, At: "--paper"},
	}
	for _, text := range f.sign {
		role, key := signature.Cut(text)
		j.Signing = append(j.Signing, job.Signing{Role: role, Key: job.File{Path: key, At: "--sign"}})
	}
	return j, f.into(j)
}

func (a *app) report(ctx context.Context, j *job.Job, save bool) error {
	if _, err := publish.Target(j); err != nil {
		return err
	}
	askForLargePages()
	with := tools(a.watcher())
	with.Save = saver(save, filepath.Dir(j.Notebook.Path))
	r, err := publish.Make(ctx, j, with)
	if err != nil {
		return notebookError(err)
	}
	a.notSaved(r.Unsaved)
	for _, w := range r.Warnings {
		a.say("warning: %s", w)
	}
	if err := a.place(r, j.Output.Text); err != nil {
		return err
	}
	a.announce(r.Record)
	return nil
}

// place puts a report in its place and says what became of one that stood there.
func (a *app) place(r *publish.Report, out string) error {
	placed, err := r.Place(out)
	if err != nil {
		return err
	}
	if text := placed.Says(r); text != "" {
		a.say("%s: %s", out, text)
	}
	return nil
}

// collectLess lets the garbage of a worker's reports grow to four times what is in use, some 70 MB in all instead of
// 50, for a tenth less work; a limit of memory still makes the collector work harder near it. GOGC in the environment
// goes before. A process that makes one report pays more for memory that it has not touched yet than for a collection.
func collectLess() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400)
	}
}

// notebookError adds the source line beneath the failure of a cell, and its hint.
func notebookError(err error) error {
	var c *rerun.CellError
	var n *publish.NotebookError
	if !errors.As(err, &c) || !errors.As(err, &n) {
		return err
	}
	short := *c
	short.Hint = ""
	return hinted{&publish.NotebookError{Name: n.Name, Err: fmt.Errorf("%w%s", &short, excerpt(c.Lines))}, c.Hint}
}

// announce prints the verdicts, the reason beneath each, and sets the exit status.
func (a *app) announce(r *record.Record) {
	if len(r.Units)+len(r.Designs) == 0 {
		a.say("warning: the notebook never calls verify() or .meets(), so the report contains no verdicts")
	}
	if !r.Passes() {
		a.status = someFail
	}
	for _, u := range r.Units {
		name := u.Called()
		if !u.Counts() {
			name += fmt.Sprintf(" (earlier test, %s, not counted)", u.Measured)
		}
		for _, v := range u.Verdicts {
			fmt.Fprintf(a.out, "%s: %s: %s\n    %s\n", name, v.Subject, v.Outcome, v.Sentence)
		}
	}
	for _, d := range r.Designs {
		for _, v := range d.Verdicts {
			fmt.Fprintf(a.out, "%s: %s: %s\n    %s\n", d.Design, v.Subject, v.Outcome, v.Sentence)
		}
	}
	for _, q := range r.Qualifications {
		fmt.Fprintf(a.out, "%s: %s\n    %s\n", q.Verdict.Subject, q.Verdict.Outcome, q.Verdict.Sentence)
	}
}
