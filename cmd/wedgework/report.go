package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"

	"github.com/spf13/cobra"

	"wedgework/reports/fileset"
	"wedgework/reports/measured"
	"wedgework/reports/pdf"
	"wedgework/reports/publish"
	"wedgework/reports/reason"
	"wedgework/reports/rerun"
	"wedgework/reports/signature"
)

func (a *app) reportCommand() *cobra.Command {
	var b bindings
	var out, issued, key string
	var fonts []string
	c := &cobra.Command{
		Use:   "report NOTEBOOK.ipynb --out REPORT.pdf",
		Short: "rerun a notebook on named inputs and write the report",
		Long: `report reruns a notebook with its named inputs bound to files and its settings to expressions, and writes
REPORT.pdf, REPORT.json (the record) and REPORT.ipynb (the executed notebook): all of them or none.

Exit status: 0 every verdict passes; 1 the report is written and some verdict does not pass (undecided counts
as not); 2 nothing is written.`,
		Example: "  wedgework report verify-single-stage.ipynb --data sweep=0417.csv --out 0417.pdf",
		Args:    exactly(1, "a notebook"),
		RunE: func(c *cobra.Command, args []string) error {
			return a.report(c.Context(), args[0], out, issued, key, fonts, b)
		},
	}
	b.flags(c)
	c.Flags().StringArrayVar(&fonts, "font", nil, "take characters that the program's fonts lack from a TrueType `FILE`")
	c.Flags().StringVar(&out, "out", "", "the report to write, `REPORT.pdf`")
	c.Flags().StringVar(&issued, "issued", "", "put a `DATE` such as 2026-11-25 into the report; without it no date but those of the readings is there")
	c.Flags().StringVar(&key, "sign", "", "write REPORT.pdf.sig beside the report, signed with the private Ed25519 key `KEY` of OpenSSH")
	return c
}

func (a *app) report(ctx context.Context, path, out, issued, key string, fonts []string, b bindings) error {
	if out == "" {
		return hinted{errors.New("report: found no --out, expected --out REPORT.pdf"), "see wedgework help report"}
	}
	paths, err := publish.Paths(out)
	if err == nil {
		err = publish.Apart(paths, slices.Concat(b.paths(), fonts, []string{path}))
	}
	if err != nil {
		return fmt.Errorf("--out: %w", err)
	}
	job, closeRoots, err := b.job(path)
	if err != nil {
		return err
	}
	defer closeRoots()
	job.Open = openRunner(a.watcher())
	if issued != "" {
		if job.Issued, err = publish.Day(issued); err != nil {
			return fmt.Errorf("--issued: %w", err)
		}
	}
	var signer *signature.Key
	if key != "" { // before the work: a key that does not read should not cost a rerun
		if signer, err = readKey("--sign", key, signature.ReadKey); err != nil {
			return err
		}
	}
	if job.Fonts, err = readFonts(fonts); err != nil {
		return err
	}
	pdf.Prepare()
	r, err := publish.Make(ctx, job)
	if err != nil {
		return notebookError(job.Notebook.Name, err)
	}
	if signer != nil {
		if err := r.Sign(signer); err != nil {
			return fmt.Errorf("--sign: %w", err)
		}
	}
	for _, w := range r.Warnings {
		a.say("warning: %s", w)
	}
	if err := fileset.Replace(r.Files(out)); err != nil {
		return err
	}
	a.announce(r.Verified)
	return nil
}

// collectLess lets the garbage of a worker's reports grow to four times what is in use, some 70 MB in all instead of 50, for a
// tenth less work; a limit of memory still makes the collector work harder near it. GOGC in the environment goes before. A
// process that makes one report pays more for memory that it has not touched yet than for a collection.
func collectLess() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400)
	}
}

// readKey reads a private or a public key file that a flag names.
func readKey[T any](flag, path string, read func([]byte) (T, error)) (key T, err error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return key, fmt.Errorf("%s: %w", flag, reason.Plain(err))
	}
	if key, err = read(data); err != nil {
		return key, fmt.Errorf("%s: %s: %w", flag, path, err)
	}
	return key, nil
}

// job reads what the flags bind a notebook to. The returned function closes what was opened.
func (b *bindings) job(path string) (publish.Job, func(), error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return publish.Job{}, nil, reason.Plain(err)
	}
	request, closeRoots, err := b.request(filepath.Dir(path))
	if err != nil {
		return publish.Job{}, nil, err
	}
	return publish.Job{
		Notebook: measured.NewFile(filepath.Base(path), data),
		Data:     request.Data, Settings: request.Settings, ReadFile: request.ReadFile,
		Program: program(), Open: openRunner(nil),
	}, closeRoots, nil
}

// readFonts reads the files of --font.
func readFonts(paths []string) ([]measured.File, error) {
	var fonts []measured.File
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			return nil, fmt.Errorf("--font: %w", reason.Plain(err))
		}
		f := measured.NewFile(filepath.Base(path), data)
		if err := (pdf.Font{Name: f.Name, Data: f.Data}).Check(); err != nil {
			return nil, fmt.Errorf("--font: %w", err)
		}
		fonts = append(fonts, f)
	}
	return fonts, nil
}

// notebookError puts the notebook's name before a failure and the source line beneath it.
func notebookError(name string, err error) error {
	var c *rerun.CellError
	if !errors.As(err, &c) {
		return fmt.Errorf("%s: %w", name, err)
	}
	hint := c.Hint
	short := *c
	short.Hint = ""
	return hinted{fmt.Errorf("%s: %w%s", name, &short, excerpt(c.Lines)), hint}
}

// announce prints the verdicts, the reason beneath each, and sets the exit status.
func (a *app) announce(verified []rerun.Verification) {
	if len(verified) == 0 {
		a.say("warning: the notebook verifies nothing: the report holds no verdict")
	}
	if !rerun.Pass(verified) {
		a.status = someFail
	}
	for _, v := range verified {
		r := v.Result
		name := r.Unit
		if name == "" {
			name = r.File
		}
		for _, v := range rerun.Verdicts(r) {
			fmt.Fprintf(a.out, "%s: %s: %s\n    %s\n", name, v.Subject, v.Outcome, v.Sentence)
		}
	}
}
