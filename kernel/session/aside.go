package session

import (
	"context"

	"go.starlark.net/starlark"

	"wedgework/reports/notebook"
)

// Thread is the interpreter's thread of a cell, which words are called with.
type Thread = starlark.Thread

// Aside runs f as if it were a cell: with a thread that words can be called with, within the bounds of a cell, and
// with what it shows handed to emit. It is for what a person does outside the cells, such as moving a slider. Name
// stands for it in errors, which are *Error; they are returned and not emitted. A cell that runs gives way to it
// between two steps, and waits until f returns.
func (s *Session) Aside(ctx context.Context, name string, emit func(notebook.Output),
	f func(thread *starlark.Thread) error) error {
	r := s.newRun(ctx, Cell{Name: name, Quiet: true, Aside: true}, &collector{emit: emit, bounds: s.config.Bounds})
	r.aside = true
	if err := s.turn.takeAside(ctx); err != nil {
		return s.fault(r, &halt{kind: Interrupted, message: interruption(ctx)}, err)
	}
	defer s.turn.give()
	s.setCurrent(r)
	r.start()
	err := protected(name, func() error { return f(r.thread) })
	stopped := r.finish()
	s.setCurrent(nil)
	r.out.close(nil)
	if err == nil {
		return nil
	}
	return s.fault(r, stopped, err)
}

// protected calls f and makes an error of a panic.
func protected(name string, f func() error) (err error) {
	defer catch(name, &err)
	return f()
}

// Gather calls f on the cell that thread runs and returns what f has shown and printed, which goes nowhere else.
// Outputs that have blocks are not drawn: Release does that, for who wants to show them as they are. The progress of
// long work goes where it goes otherwise.
func Gather(thread *starlark.Thread, f func() error) ([]notebook.Output, error) {
	r, ok := thread.Local(runKey).(*run)
	if !ok {
		return nil, ErrIdle
	}
	var all []notebook.Output
	back := r.out.divert(func(o notebook.Output) { all = append(all, o) })
	outer := r.gathers
	r.gathers = true
	err := f()
	r.gathers = outer
	back()
	return all, err
}

// Release shows what Gather has returned.
func Release(thread *starlark.Thread, outputs []notebook.Output) error {
	for _, o := range outputs {
		if o.Blocks != nil {
			data, err := Bundle(thread, o.Blocks)
			if err != nil {
				return err
			}
			o.Data = data
		}
		if err := Emit(thread, o); err != nil {
			return err
		}
	}
	return nil
}

// Output returns the output that shows a value, as at the end of the cell that thread runs.
func Output(thread *starlark.Thread, v starlark.Value) (notebook.Output, error) {
	r, ok := thread.Local(runKey).(*run)
	if !ok {
		return notebook.Output{}, ErrIdle
	}
	return r.shown(v)
}

// Assign gives a name of the session a value, as a cell would that the thread runs.
func Assign(thread *starlark.Thread, name string, v starlark.Value) error {
	r, ok := thread.Local(runKey).(*run)
	if !ok {
		return ErrIdle
	}
	r.session.globals.set(name, v)
	return nil
}

// Assigned returns the value that a cell has given a name of the session; nil when none has.
func Assigned(thread *starlark.Thread, name string) starlark.Value {
	r, ok := thread.Local(runKey).(*run)
	if !ok {
		return nil
	}
	if _, word := r.session.pristine[name]; word {
		return nil
	}
	v, _ := r.session.Lookup(name)
	return v
}
