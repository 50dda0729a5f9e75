package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"wedgework/kernel/session"
	"wedgework/kernel/vocab"
	"wedgework/reports/document"
	"wedgework/reports/notebook"
	"wedgework/reports/rerun"
)

var (
	_ vocab.ModelHost     = (*rerun.Desk)(nil)
	_ vocab.ConstantsHost = (*rerun.Desk)(nil)
)

// open makes a session with the whole vocabulary around a desk.
func open(desk *rerun.Desk, w watcher) (*session.Session, error) { return session.New(config(desk, w)) }

func config(desk *rerun.Desk, w watcher) session.Config {
	c := vocab.Config(desk)
	c.Progress = w
	return c
}

// openRunner returns what makes a session that runs the cells of a notebook around a desk.
func openRunner(w watcher) rerun.Opener {
	return func(desk *rerun.Desk) (rerun.Session, error) {
		c := config(desk, w)
		// the run makes the forms of what is shown, beside the cells that follow
		c.Bundle = func([]document.Block) map[string]any { return map[string]any{"text/plain": ""} }
		s, err := session.New(c)
		return runner{s}, err
	}
}

// runner runs the cells of a notebook in a session.
type runner struct{ *session.Session }

// Run runs one cell; its error is a *rerun.CellError.
func (r runner) Run(ctx context.Context, cell rerun.Cell, emit func(notebook.Output)) error {
	_, err := r.Session.Run(ctx, session.Cell{
		Name: cellName(cell.Number), Number: cell.Index, Source: cell.Source,
	}, emit)
	return cellError(cell.Number, err)
}

func cellName(number int) string { return fmt.Sprintf("cell %d", number) }

// cellError carries an error of the session over. The position may lie in an earlier cell, when a function
// defined there failed.
func cellError(number int, err error) error {
	var e *session.Error
	if !errors.As(err, &e) {
		return err
	}
	c := &rerun.CellError{
		Number: number, Line: e.Line, Column: e.Column,
		Message: e.Message, Hint: e.Hint, Lines: e.Lines, Err: e,
	}
	if n, ok := numberOf(e.Cell); ok {
		c.Number = n
	}
	return c
}

func numberOf(cell string) (n int, ok bool) {
	_, err := fmt.Sscanf(cell, "cell %d", &n)
	return n, err == nil && cell == cellName(n)
}

// excerpt returns the source line and the caret of a failure, "" when there are none: the last three lines
// of a traceback are line, caret and message.
func excerpt(lines []string) string {
	for i := len(lines) - 1; i > 0; i-- {
		if strings.Trim(lines[i], " \t^") == "" && strings.Contains(lines[i], "^") {
			unindent := func(s string) string { return strings.TrimPrefix(s, "    ") } // say indents again
			return "\n" + unindent(lines[i-1]) + "\n" + unindent(lines[i])
		}
	}
	return ""
}
