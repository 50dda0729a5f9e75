package live

import (
	"context"
	"errors"
	"slices"

	"wedgework/kernel"
	"wedgework/kernel/session"
	"wedgework/kernel/vocab"
	"wedgework/kernel/widget"
	"wedgework/reports/notebook"
)

// Explore shows the controls of an exploration below the running cell, where the front end draws widgets.
func (h *host) Explore(t *session.Thread, e *vocab.Exploration) (bool, error) {
	comm := cellOf(t).Comm
	if comm == nil {
		return false, nil
	}
	view, ok := h.widgets.Show(e.Panel())
	if !ok {
		return false, nil
	}
	for _, m := range view.Messages {
		comm(kernel.Comm(m))
	}
	return true, session.Emit(t, notebook.Output{Type: notebook.DisplayOutput, DisplayID: e.DisplayID("controls"),
		Data: view.Data})
}

// Comm takes a message of a front end's comm. A move of a control is drawn, unless a later one waits.
func (i *Interpreter) Comm(ctx context.Context, m kernel.Comm, waiting []string, out kernel.Outlet) error {
	w := i.host.widgets
	answer, err := w.Take(widget.Message(m))
	for _, reply := range answer.Messages {
		out.Comm(kernel.Comm(reply))
	}
	for _, p := range answer.Again {
		view := w.View(p)
		for _, reply := range view.Messages {
			out.Comm(kernel.Comm(reply))
		}
		out.Emit(notebook.Output{Type: notebook.UpdateOutput, Data: view.Data,
			DisplayID: p.Of.(*vocab.Exploration).DisplayID("controls")})
	}
	p := answer.Moved
	if err != nil || p == nil || slices.ContainsFunc(waiting, p.Holds) {
		return err
	}
	e := p.Of.(*vocab.Exploration)
	err = i.session.Aside(ctx, "a redrawing", out.Emit, func(t *session.Thread) error {
		return e.Redraw(t, w.Values(p))
	})
	if ctx.Err() != nil {
		return errors.New("a redrawing was interrupted")
	}
	return err
}

// Comms lists the open comms with a target.
func (i *Interpreter) Comms(target string) map[string]string { return i.host.widgets.Comms(target) }
