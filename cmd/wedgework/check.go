package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"wedgework/kernel/session"
	"wedgework/reports/document"
	"wedgework/reports/files"
	"wedgework/reports/notebook"
	"wedgework/reports/publish"
	"wedgework/reports/rerun"
)

func (a *app) checkCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "check NOTEBOOK.ipynb",
		Short: "validate a notebook and list its inputs and settings, without running it",
		Long: `check reads a notebook and all its cells and reports errors before anything runs. It lists the inputs
that --data assigns files to and the settings that --set replaces. A name that a cell computes is shown as written.

Exit status: 0 the notebook is valid; 2 it is not.`,
		Example: "  wedgework check verify-single-stage.ipynb",
		Args:    exactly(1, "a notebook"),
		RunE: func(_ *cobra.Command, args []string) error {
			return a.check(args[0])
		},
	}
}

func (a *app) check(path string) error {
	data, err := files.Read(path)
	if err != nil {
		return err
	}
	name := filepath.Base(path)
	nb, err := publish.ReadNotebook(data)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	s, err := open(rerun.NewDesk(rerun.Request{}), nil)
	if err != nil {
		return err
	}
	var names []asked
	code := 0
	var wrong []error
	for i, cell := range nb.Cells {
		if cell.Type != notebook.CodeCell || strings.TrimSpace(cell.Source) == "" {
			continue
		}
		code++
		calls, err := s.Check(session.Cell{Name: cellName(i + 1), Source: cell.Source})
		if err != nil {
			wrong = append(wrong, notebookError(&publish.NotebookError{Name: name, Err: cellError(i+1, err)}))
			continue
		}
		names = append(names, askedIn(i+1, calls)...)
	}
	if len(wrong) > 0 {
		return errors.Join(wrong...)
	}
	fmt.Fprintf(a.out, "%s: valid, %s, %d of them code\n", name, document.Count(len(nb.Cells), "cell"), code)
	for _, n := range names {
		fmt.Fprintln(a.out, n)
	}
	return nil
}

// asked is an input or a setting that a notebook asks for.
type asked struct {
	what, name, standard string
	cell, line           int
}

func (n asked) String() string {
	line := fmt.Sprintf("  %-8s %s", n.what, n.name)
	if n.standard != "" {
		line += ", default " + n.standard
	}
	return fmt.Sprintf("%s  (cell %d, line %d)", line, n.cell, n.line)
}

// askedIn lists what the calls of a cell ask for.
func askedIn(cell int, calls []session.Call) []asked {
	var all []asked
	for _, c := range calls {
		what := map[string]string{"measured": "input", "given": "setting"}[c.Word]
		if what == "" {
			continue
		}
		n := asked{what: what, cell: cell, line: c.Line}
		if name, ok := c.Argument("name", 0); ok {
			n.name = written(name)
		}
		if standard, ok := c.Argument("default", 1); ok {
			n.standard = written(standard)
		}
		all = append(all, n)
	}
	return all
}

// written returns a text as itself and anything else as it stands in the cell.
func written(a session.Argument) string {
	if a.IsText {
		return a.Text
	}
	return strings.Join(strings.Fields(a.Source), " ")
}
