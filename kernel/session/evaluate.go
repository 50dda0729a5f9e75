package session

import (
	"maps"

	"go.starlark.net/starlark"
)

// Evaluate returns the value of an expression that a word got as text, such as a setting that came with
// the command. It runs as part of the cell that thread runs, within its bounds, and sees the words and
// the built-in functions as they were before the first cell: what cells have assigned does not change what
// such a text means. Name stands for the text in errors, as a cell's name does for the cell's.
//
// It may be called by a word while its cell runs, and not from another goroutine.
func Evaluate(thread *starlark.Thread, name, expression string) (starlark.Value, error) {
	r, ok := thread.Local(runKey).(*run)
	if !ok {
		return nil, ErrIdle
	}
	s := r.session
	src := clean(expression)
	s.remember(name, src)
	fail := func(err error) (starlark.Value, error) {
		if e := (&Error{Cell: name, cause: err}); s.static(e, err) {
			return nil, finished(e)
		}
		return nil, err
	}
	parsed, _ := powers(src)
	if _, err := dialect.ParseExpr(name, parsed, 0); err != nil {
		return fail(err)
	}
	g := &globals{dict: maps.Clone(s.pristine)}
	g.dict[nameGlobals] = g
	prog, _, err := s.compile(name, src, g)
	if err != nil {
		return fail(err)
	}
	if _, err := prog.Init(thread, g.dict); err != nil {
		return nil, err
	}
	return g.last, nil
}
