package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"wedgework/reports/document"
	"wedgework/reports/measured"
	"wedgework/reports/notebook"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
)

func (a *app) reportCommand() *cobra.Command {
	var b bindings
	var out string
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
			return a.report(c.Context(), args[0], out, b)
		},
	}
	b.flags(c)
	c.Flags().StringVar(&out, "out", "", "the report to write, `REPORT.pdf`")
	return c
}

func (a *app) report(ctx context.Context, path, out string, b bindings) error {
	paths, err := outputs(out)
	if err != nil {
		return err
	}
	if err := apart(paths, append(b.paths(), path)); err != nil {
		return err
	}
	source, err := readNotebook(path)
	if err != nil {
		return err
	}
	request, closeRoots, err := b.request(filepath.Dir(path))
	if err != nil {
		return err
	}
	defer closeRoots()
	request.Notebook = source.notebook
	outcome, err := rerun.Run(ctx, request, func(d *rerun.Desk) (rerun.Session, error) {
		s, err := open(d)
		return runner{s}, err
	})
	if err != nil {
		return notebookError(source.Name, err)
	}
	files, err := a.render(source, outcome, paths)
	if err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("interrupted: nothing is written")
	}
	if err := replace(files); err != nil {
		return err
	}
	a.announce(outcome.Verified)
	return nil
}

// outputs returns the three files of a report in the order in which they are put in place, the PDF last.
func outputs(out string) ([]string, error) {
	stem, ok := strings.CutSuffix(out, ".pdf")
	switch {
	case out == "":
		return nil, hinted{errors.New("report: found no --out, expected --out REPORT.pdf"), "see wedgework help report"}
	case !ok || filepath.Base(stem) == "." || strings.HasSuffix(stem, string(filepath.Separator)) || stem == "":
		return nil, fmt.Errorf("--out: found %q, expected a file name that ends in .pdf", out)
	}
	folder := filepath.Dir(out)
	switch info, err := os.Stat(folder); {
	case err != nil:
		return nil, fmt.Errorf("--out: the folder %s: %w", folder, bare(err))
	case !info.IsDir():
		return nil, fmt.Errorf("--out: %s is not a folder", folder)
	}
	return []string{stem + ".ipynb", stem + ".json", out}, nil
}

// apart refuses a report that would replace one of the files it is made from.
func apart(outputs, inputs []string) error {
	for _, o := range outputs {
		there, err := os.Stat(o)
		if err != nil {
			continue
		}
		for _, i := range inputs {
			if info, err := os.Stat(i); err == nil && os.SameFile(info, there) {
				return fmt.Errorf("--out: %s would replace the input %s: give the report another name or folder", o, i)
			}
		}
	}
	return nil
}

// sourceNotebook is the notebook a report is made from.
type sourceNotebook struct {
	record.Source
	notebook *notebook.Notebook
	data     []byte
}

func readNotebook(path string) (*sourceNotebook, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, plain(err)
	}
	nb, err := notebook.Read(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if err := checkKernel(nb); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	f := measured.NewFile(filepath.Base(path), data)
	return &sourceNotebook{
		Source:   record.Source{Name: f.Name, SHA256: f.SHA256, Bytes: len(data)},
		notebook: nb, data: data,
	}, nil
}

// kernelName is what a notebook names in its kernelspec when it is written for this program.
const kernelName = "wedgework"

// checkKernel refuses a notebook that is written for another kernel; one that names none is taken.
func checkKernel(nb *notebook.Notebook) error {
	if k := nb.Kernel(); k != "" && k != kernelName {
		return fmt.Errorf("metadata.kernelspec.name: found %q, expected %q: the cells are in another language", k, kernelName)
	}
	return nil
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
	for _, v := range verified {
		r := v.Result
		name := r.Unit
		if name == "" {
			name = r.File
		}
		for _, v := range rerun.Verdicts(r) {
			if v.Outcome != document.Pass {
				a.status = someFail
			}
			fmt.Fprintf(a.out, "%s: %s: %s\n    %s\n", name, v.Subject, v.Outcome, v.Sentence)
		}
	}
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
