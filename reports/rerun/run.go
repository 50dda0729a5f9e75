package rerun

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"wedgework/reports/nearest"
	"wedgework/reports/notebook"
)

// Run runs every code cell of the request's notebook that is not blank, in order. The outcome is nil
// when there is an error: a *CellError for a failing cell, an *UnaskedError for a bound name that the
// notebook never asked for. The request's notebook is not changed.
func Run(ctx context.Context, req Request, open Opener) (*Outcome, error) {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	out := &Outcome{Notebook: req.Notebook.Clone()}
	out.Notebook.NameLanguage()
	desk := newDesk(&req, out)
	session, err := open(desk)
	if err != nil {
		return nil, fmt.Errorf("the session does not start: %w", err)
	}
	record := notebook.Recorder{Notebook: out.Notebook}
	draw := drawer{ctx: ctx}
	index := 0
	for i := range out.Notebook.Cells {
		cell := &out.Notebook.Cells[i]
		if cell.Type != notebook.CodeCell {
			continue
		}
		record.Begin(i, 0)
		if strings.TrimSpace(cell.Source) == "" {
			continue
		}
		index++
		record.Begin(i, index)
		emit := func(o notebook.Output) {
			draw.take(i+1, o)
			record.Take(o)
		}
		if err := runCell(ctx, session, Cell{Number: i + 1, Index: index, Source: cell.Source}, emit); err != nil {
			return nil, err
		}
	}
	desk.pictures(ctx)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := draw.settle(); err != nil {
		return nil, err
	}
	if err := desk.Unasked(); err != nil {
		return nil, err
	}
	desk.noteUnused()
	return out, nil
}

func runCell(ctx context.Context, s Session, cell Cell, emit func(notebook.Output)) error {
	err := ctx.Err()
	if err == nil {
		err = s.Run(ctx, cell, emit)
	}
	if err == nil {
		return nil
	}
	var failure *CellError
	if errors.As(err, &failure) {
		return failure
	}
	return &CellError{Number: cell.Number, Message: err.Error(), Err: err}
}

// noteUnused warns of columns that are not known: one of them may be a reading under a misspelt head.
func (d *Desk) noteUnused() {
	for _, in := range d.out.Inputs {
		for _, t := range in.Read() {
			for _, note := range t.Notes() {
				d.Warn(note)
			}
		}
	}
}

// UnaskedError lists names that the request binds and the notebook never asked for.
type UnaskedError struct {
	Inputs, Settings           []string // bound and not asked for, sorted
	AskedInputs, AskedSettings []string // what the notebook asks for, in its order
}

// Error names them, and what the notebook asks for.
func (e *UnaskedError) Error() string {
	return e.Worded(func(kind, name string) string { return kind + " " + name })
}

// Worded is the message with a place before each name, as the person who bound it wrote it: place is asked with "input"
// or "setting" and the name.
func (e *UnaskedError) Worded(place func(kind, name string) string) string {
	var parts []string
	for _, p := range []struct {
		kind         string
		bound, asked []string
	}{{"input", e.Inputs, e.AskedInputs}, {"setting", e.Settings, e.AskedSettings}} {
		asked := "it has no " + p.kind + "s"
		if len(p.asked) > 0 {
			asked = "its " + p.kind + "s are: " + strings.Join(p.asked, ", ")
		}
		for _, name := range p.bound {
			text := fmt.Sprintf("%s: the notebook has no %s %s; %s", place(p.kind, name), p.kind, name, asked)
			if near := nearest.To(name, p.asked); near != "" && len(p.asked) > 1 {
				text += fmt.Sprintf("; did you mean %s?", near)
			}
			parts = append(parts, text)
		}
	}
	return strings.Join(parts, "\n")
}

// Unasked returns an *UnaskedError when a name is bound that no cell has asked for, else nil.
func (d *Desk) Unasked() error {
	e := &UnaskedError{AskedInputs: d.wanted}
	for _, s := range d.out.Settings {
		e.AskedSettings = append(e.AskedSettings, s.Name)
	}
	for _, n := range slices.Sorted(maps.Keys(d.req.Data)) {
		if !slices.Contains(e.AskedInputs, n) {
			e.Inputs = append(e.Inputs, n)
		}
	}
	for _, n := range slices.Sorted(maps.Keys(d.req.Settings)) {
		if !slices.Contains(e.AskedSettings, n) {
			e.Settings = append(e.Settings, n)
		}
	}
	if len(e.Inputs)+len(e.Settings) == 0 {
		return nil
	}
	return e
}
