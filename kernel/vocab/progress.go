package vocab

import (
	"context"
	"fmt"
	"html"
	"sync/atomic"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/stack"
	"wedgework/optics/tolerance"
	"wedgework/reports/notebook"
)

// ShowProgress shows long work as a bar that changes in place, in a notebook, and disappears when the work is done;
// of work that was stopped it says how far it came. It is meant for session.Config.Progress.
func ShowProgress(p session.Progress, emit func(notebook.Output) error) {
	// A display of a cell that is over has nobody to go to; the work is over then too.
	data := map[string]any{"text/plain": p.String(), "text/html": barHTML(p)}
	if p.Over && (p.Total <= 0 || p.Done >= p.Total) { // the result says that it is done
		data = map[string]any{"text/plain": "", "text/html": ""}
	}
	_ = emit(notebook.Output{Type: notebook.DisplayOutput, DisplayID: p.ID, Data: data})
}

// barHTML is the bar with its line. It takes its colours from where it stands, so that it is seen on light
// and dark grounds.
func barHTML(p session.Progress) string {
	bar := ""
	if !p.Over && p.Total > 0 {
		percent := int(100 * p.Part())
		bar = fmt.Sprintf(`<div role="progressbar" aria-label="%s" aria-valuemin="0" aria-valuemax="100" aria-valuenow="%d" `+
			`style="width:20em;max-width:100%%;height:.6em;border:1px solid currentColor;border-radius:.2em;opacity:.7">`+
			`<div style="width:%d%%;height:100%%;background:currentColor"></div></div>`,
			html.EscapeString(p.Task), percent, percent)
	}
	return fmt.Sprintf(`<div style="color:inherit;font-variant-numeric:tabular-nums">%s%s</div>`,
		bar, html.EscapeString(p.String()))
}

// working begins work that may take long. The context ends with the cell and carries how far optics has
// come to whoever watches; a word defers work.End, and may say work.At itself.
func working(t *starlark.Thread, task string) (ctx context.Context, work *session.Work) {
	work = session.Begin(t, task)
	return stack.WithProgress(session.ContextOf(t), work.At), work
}

// apart computes f, which uses no value that a cell could change: sliders move meanwhile where the front end has
// subshells. It ends with the context.
func apart[T any](t *starlark.Thread, ctx context.Context, f func() (T, error)) (T, error) {
	return session.Apart(t, func() (T, error) { return session.Await(ctx, f) })
}

// searching is working for a search: how far it has come is told of its evaluations.
func searching(t *starlark.Thread) (ctx context.Context, work *session.Work) {
	work = session.Begin(t, "searching, stacks looked at")
	return tolerance.Watched(stack.Quiet(session.ContextOf(t)), work.At), work
}

// counting is working for a word that cannot tell beforehand how many responses it will ask for: it counts
// those that are there.
func counting(t *starlark.Thread, task string) (ctx context.Context, work *session.Work) {
	work = session.Begin(t, task)
	var curves atomic.Int64
	return stack.WithProgress(session.ContextOf(t), func(done, total int) {
		if done == total {
			work.At(int(curves.Add(1)), 0)
		}
	}), work
}
