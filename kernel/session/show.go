package session

import (
	"fmt"
	"runtime/debug"

	"go.starlark.net/starlark"

	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

// displayText is how many bytes of a value's plain text are shown.
const displayText = 64 << 10

// Show emits a value as an output of the cell that thread runs, as it would be shown at the end of a cell. What is
// shown again under the same id, where that is not "", is replaced.
func Show(thread *starlark.Thread, id string, v starlark.Value) error {
	r, ok := thread.Local(runKey).(*run)
	if !ok {
		return ErrIdle
	}
	o, err := r.shown(v)
	if err == nil {
		err = r.ctx.Err()
	}
	if err != nil {
		return err
	}
	o.Type, o.DisplayID = notebook.DisplayOutput, id
	return r.send(o)
}

// ShownIn tells of a value whether the cell of the thread shows it already: at the end of that cell it is not shown
// once more.
type ShownIn interface {
	starlark.Value
	ShownIn(thread *starlark.Thread) bool
}

// display emits the value of the last expression.
func (r *run) display(v starlark.Value) error {
	if s, ok := v.(ShownIn); ok && s.ShownIn(r.thread) {
		return nil
	}
	o, err := r.shown(v)
	if err != nil {
		return err
	}
	o.Type, o.Count = notebook.ResultOutput, r.cell.Number
	return r.out.send(o)
}

// shown makes the output of a value.
func (r *run) shown(v starlark.Value) (o notebook.Output, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &panicError{"showing " + v.Type(), p, debug.Stack()}
		}
	}()
	var shown Shown
	if show := r.session.config.Show; show != nil && !r.session.guard.endless(v) {
		if shown, err = show(v); err != nil {
			return o, fmt.Errorf("cannot show %s: %w", v.Type(), err)
		}
	}
	data := map[string]any{}
	if shown.Blocks != nil && r.session.config.Bundle != nil {
		if data, err = r.bundle(shown.Blocks); err != nil {
			return o, err
		}
	}
	if _, ok := data["text/plain"]; !ok {
		data["text/plain"] = cut(shown.Text, displayText)
		if shown.Text == "" {
			data["text/plain"] = Text(v, displayText)
		}
	}
	return notebook.Output{Data: data, Blocks: shown.Blocks}, nil
}

// endless reports whether v is a collection whose text is far longer than what is shown. Written out by
// Config.Show, a list that holds its parts many times over could end the process.
func (g guard) endless(v starlark.Value) bool {
	switch v.(type) {
	case *starlark.List, starlark.Tuple, *starlark.Dict, *starlark.Set:
		w := writer{limit: 16 * displayText, look: g.look()}
		return w.value(v) != nil
	}
	return false
}

// Bundle returns blocks as the session of thread shows them, by MIME type; see Config.
func Bundle(thread *starlark.Thread, blocks []document.Block) (map[string]any, error) {
	r, ok := thread.Local(runKey).(*run)
	if !ok {
		return nil, ErrIdle
	}
	return r.bundle(blocks)
}

func (r *run) bundle(blocks []document.Block) (map[string]any, error) {
	if err := r.session.guard.bulk(blocks); err != nil {
		return nil, err
	}
	if r.gathers {
		return map[string]any{}, nil
	}
	bundle := r.session.config.Bundle
	if bundle == nil {
		bundle = func(blocks []document.Block) map[string]any {
			return map[string]any{"text/plain": document.Text(blocks)}
		}
	}
	return Await(r.ctx, func() (map[string]any, error) { return bundle(blocks), nil })
}

// bulk refuses to show more than a cell may print.
func (g guard) bulk(blocks []document.Block) error {
	l := newLook(lookParts, g.Output, lookDepth, g.ended)
	if err := l.blocks(blocks); err != nil {
		return fmt.Errorf("what this shows is too much: %w", err)
	}
	return nil
}

func (l *Look) blocks(blocks []document.Block) error {
	return l.nested(func() error {
		for _, b := range blocks {
			if err := l.block(b); err != nil {
				return err
			}
		}
		return nil
	})
}

func (l *Look) block(b document.Block) error {
	switch b := b.(type) {
	case document.Table:
		for _, row := range b.Rows {
			for _, cell := range row {
				if err := l.Part(len(cell)); err != nil {
					return err
				}
			}
		}
		return l.Part(len(b.Caption) + len(b.Note))
	case document.Fields:
		for _, f := range b.Rows {
			if err := l.Part(len(f.Name) + len(f.Value)); err != nil {
				return err
			}
		}
	case document.List:
		for _, item := range b.Items {
			if err := l.blocks(item); err != nil {
				return err
			}
		}
	case document.Quote:
		return l.blocks(b.Blocks)
	case document.Code:
		return l.Part(len(b.Text))
	case document.Paragraph:
		for _, s := range b.Spans {
			if err := l.Part(len(s.Text)); err != nil {
				return err
			}
		}
	}
	return l.Part(0)
}
