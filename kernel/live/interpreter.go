// Package live puts a session of cells with the whole vocabulary where the notebook kernel wants an interpreter, and
// is the Host of its words: inputs are read from their default files, settings have their defaults, and
// what a report would carry is shown on the cell alone.
package live

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"wedgework/kernel"
	"wedgework/kernel/session"
	"wedgework/kernel/vocab"
	"wedgework/kernel/widget"
	"wedgework/kernel/wire"
	"wedgework/reports/document"
	"wedgework/reports/measured"
	"wedgework/reports/notebook"
)

// Interpreter runs the cells of a notebook that a person has open.
type Interpreter struct {
	session *session.Session
	host    *host
}

var _ kernel.Interpreter = (*Interpreter)(nil)

// New returns an interpreter without any names but those of the vocabulary. Its cells read files with readFile and
// in no other way.
func New(readFile func(ctx context.Context, path string) (measured.File, error)) (*Interpreter, error) {
	h := &host{readFile: readFile, widgets: widget.NewManager(wire.Random)}
	c := vocab.Config(h)
	c.Progress, c.Traceback = vocab.ShowProgress, coloured
	s, err := session.New(c)
	if err != nil {
		return nil, err
	}
	return &Interpreter{s, h}, nil
}

// Lists lets completion propose the files that list names.
func (i *Interpreter) Lists(list func() []string) { i.host.list = list }

// Saves lets cells write files with save, and in no other way.
func (i *Interpreter) Saves(save func(name string, data []byte) error) { i.host.save = save }

// Run runs a cell. In messages it is called by its execution count, as the front end shows it.
func (i *Interpreter) Run(ctx context.Context, c kernel.Cell, emit func(notebook.Output)) *notebook.Error {
	name := fmt.Sprintf("cell %d", c.Number)
	switch {
	case c.Aside:
		name = "an expression in a subshell"
	case !c.Stored:
		name = "a cell without a number"
	}
	if c.Aside {
		if strings.TrimSpace(c.Source) == "" { // only user expressions
			return nil
		}
		if err := i.session.CheckExpression(name, c.Source); err != nil {
			return refused(err, emit)
		}
	}
	// Where nobody reads a page nobody watches a bar, and outputs are kept: they are to be alike run after run.
	_, err := i.session.Run(ctx, session.Cell{Name: name, Number: c.Number, Source: c.Source, Aside: c.Aside,
		Quiet: c.Silent || c.Page == nil, Attached: c}, emit)
	return failure(err)
}

// refused shows that a subshell does not run a cell.
func refused(err error, emit func(notebook.Output)) *notebook.Error {
	e := failure(err)
	const why = "a subshell evaluates one expression while a cell runs; run anything else in the notebook"
	e.Value = why + ": " + e.Value
	e.Traceback = append(e.Traceback, why)
	emit(notebook.Output{Type: notebook.ErrorOutput, Error: e})
	return e
}

// failure is an error of the session as its output tells it.
func failure(err error) *notebook.Error {
	if err == nil {
		return nil
	}
	var e *session.Error
	if !errors.As(err, &e) {
		return &notebook.Error{Name: session.InternalError, Value: err.Error(), Traceback: []string{err.Error()}}
	}
	return &notebook.Error{Name: e.Name(), Value: e.Error(), Traceback: coloured(e)}
}

// Flush hands on what the running cell has printed.
func (i *Interpreter) Flush() { i.session.Flush() } // an error means that no cell is running

// IsComplete tells whether source is ready to run.
func (i *Interpreter) IsComplete(source string) (status, indent string) {
	c, indent := session.IsComplete(source)
	return string(c), indent
}

// Value returns the value of an expression as a cell would show it.
func (i *Interpreter) Value(ctx context.Context, expression string) (map[string]any, *notebook.Error) {
	const name = "an expression of the front end"
	var data map[string]any
	v, err := i.session.Run(ctx, session.Cell{Name: name, Source: expression, Aside: true},
		func(o notebook.Output) {
			if o.Type == notebook.ResultOutput {
				data = o.Data
			}
		})
	switch {
	case err != nil:
		return nil, failure(err)
	case v == nil:
		const message = "found no expression"
		return nil, &notebook.Error{Name: session.SyntaxError, Value: message, Traceback: []string{message}}
	case data == nil: // None, which cells do not show
		data = map[string]any{"text/plain": v.String()}
	}
	return data, nil
}

// kinds are the session's kinds of match as front ends name them, which pick an icon by it.
var kinds = map[string]string{
	session.NameMatch:      "instance",
	session.WordMatch:      "function",
	session.UnitMatch:      "unit",
	session.ArgumentMatch:  "param",
	session.AttributeMatch: "property",
	session.MethodMatch:    "method",
	session.TextMatch:      "text",
	session.KeywordMatch:   "keyword",
}

// Complete proposes what may stand at the cursor.
func (i *Interpreter) Complete(source string, cursor int) kernel.Completion {
	found := i.session.Complete(source, cursor)
	c := kernel.Completion{Start: found.Start, End: found.End}
	for _, m := range found.Matches {
		c.Matches = append(c.Matches, kernel.Match{Text: m.Text, Kind: kinds[m.Kind], Detail: m.Detail})
	}
	return c
}

// Inspect describes what is at the cursor.
func (i *Interpreter) Inspect(source string, cursor, detail int) map[string]any {
	blocks, found := i.session.Inspect(source, cursor, detail)
	if !found {
		return nil
	}
	return document.Bundle(blocks)
}
