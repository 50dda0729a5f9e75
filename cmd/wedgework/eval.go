package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"wedgework/kernel/session"
	"wedgework/kernel/vocab"
	"wedgework/reports/document"
	"wedgework/reports/files"
	"wedgework/reports/job"
	"wedgework/reports/notebook"
	"wedgework/reports/publish"
	"wedgework/reports/rerun"
)

func (a *app) evalCommand() *cobra.Command {
	var b bindings
	var asJSON, save bool
	c := &cobra.Command{
		Use:   "eval EXPRESSION | FILE.star | -",
		Short: "run cells without a notebook and print the value of the last expression",
		Long: `eval runs an expression, a file of cell source, or standard input (-), and prints the value of the last
expression. An argument that names an existing file is that file. Files that the source reads with measured()
are relative to the folder of FILE.star, otherwise to the current folder.`,
		Example: `  wedgework eval '(1550*nm).to(um)'
  wedgework eval --json design.star`,
		Args: exactly(1, "an expression, an existing file, or - for standard input"),
		RunE: func(c *cobra.Command, args []string) error {
			return a.eval(c.Context(), args[0], b, asJSON, save)
		},
	}
	b.flags(c)
	saveFlag(c, &save)
	c.Flags().BoolVar(&asJSON, "json", false, "print the value as JSON; what the cells print goes to standard error")
	return c
}

func (a *app) eval(ctx context.Context, arg string, b bindings, asJSON, save bool) error {
	cell, folder, err := a.source(ctx, arg)
	if err != nil {
		return err
	}
	var j job.Job
	if err := b.into(&j); err != nil {
		return err
	}
	with := tools(nil)
	with.Save = saver(save, folder)
	request, closeRoots, err := publish.Bind(ctx, &j, folder, with)
	defer closeRoots()
	if err != nil {
		return err
	}
	show := a.printer(asJSON)
	desk := rerun.NewDesk(request)
	s, err := open(desk, a.watcher())
	if err != nil {
		return err
	}
	v, err := s.Run(ctx, cell, show)
	for _, w := range desk.Outcome().Warnings {
		a.say("warning: %s", w)
	}
	a.notSaved(desk.Outcome().Unsaved)
	if err != nil {
		return evalError(err)
	}
	if err := desk.Unasked(); err != nil {
		return publish.Unasked(&j, err)
	}
	if !asJSON {
		return nil
	}
	var value any
	if v != nil {
		if value, err = vocab.WholeJSON(ctx, v); err != nil {
			return fmt.Errorf("this value cannot be written as JSON: %w", err)
		}
	}
	e := json.NewEncoder(a.out)
	e.SetEscapeHTML(false)
	if err := e.Encode(value); err != nil {
		return fmt.Errorf("this value cannot be written as JSON: %w", err)
	}
	return nil
}

// source finds what eval is to run, and the folder its paths are relative to.
func (a *app) source(ctx context.Context, arg string) (cell session.Cell, folder string, err error) {
	const most = 1 << 20 // bytes; no longer cell would be read (kernel/session/compile.go)
	if arg == "-" {
		data, err := await(ctx, func() ([]byte, error) { return io.ReadAll(io.LimitReader(a.in, most+1)) })
		if err == nil && len(data) > most {
			err = errors.New("found more than 1 MiB, expected a cell")
		}
		if err != nil {
			return cell, "", fmt.Errorf("standard input: %w", err)
		}
		return session.Cell{Name: "standard input", Number: 1, Source: string(data)}, ".", nil
	}
	info, err := os.Stat(arg)
	switch {
	case err == nil && !info.IsDir():
		data, err := files.Read(arg)
		if err != nil {
			return cell, "", err
		}
		return session.Cell{Name: filepath.Base(arg), Number: 1, Source: string(data)}, filepath.Dir(arg), nil
	case errors.Is(err, fs.ErrNotExist) && strings.HasSuffix(arg, ".star"):
		return cell, "", fmt.Errorf("there is no file %s", arg)
	}
	return session.Cell{Name: "expression", Number: 1, Source: arg}, ".", nil
}

// printer returns what prints the outputs of a cell as text. With JSON on standard output everything else
// goes to standard error, and the last value is not printed twice.
func (a *app) printer(asJSON bool) func(notebook.Output) {
	out := a.out
	if asJSON {
		out = a.err
	}
	return func(o notebook.Output) {
		switch o.Type {
		case notebook.StreamOutput:
			w := out
			if o.Stream == "stderr" {
				w = a.err
			}
			io.WriteString(w, o.Text)
		case notebook.ResultOutput, notebook.DisplayOutput, notebook.UpdateOutput:
			if asJSON && o.Type == notebook.ResultOutput {
				return
			}
			text, ok := o.Data["text/plain"].(string)
			if o.Blocks != nil { // all of them, where a notebook shortens
				text, ok = document.Text(o.Blocks), true
			}
			if ok {
				fmt.Fprintln(out, strings.TrimRight(text, "\n"))
			}
		}
	}
}

// evalError words a failure with its place, the source line and a caret.
func evalError(err error) error {
	var e *session.Error
	if !errors.As(err, &e) {
		return err
	}
	place := e.Cell
	if e.Line > 0 {
		place = fmt.Sprintf("%s, line %d, column %d", e.Cell, e.Line, e.Column)
	}
	return hinted{fmt.Errorf("%s: %s%s", place, e.Message, excerpt(e.Lines)), e.Hint}
}
