package session

import (
	"context"
	"maps"
	"slices"

	"go.starlark.net/starlark"
)

// Evaluate returns the value of an expression that a word got as text, such as a setting that came with
// the command. It runs as part of the cell that thread runs, within its bounds, and sees the words and
// the built-in functions as they were before the first cell: what cells have assigned does not change what
// such a text means. Name stands for the text in errors, as a cell's name does for the cell's; an error is an
// *Error that gives the place in the text.
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
	v, err := s.evaluateText(thread, name, src)
	if err == nil {
		return v, nil
	}
	e := &Error{Kind: CellError, Message: err.Error(), Cell: name, cause: err}
	if !s.static(e, err) {
		inText := func(f starlark.CallFrame) bool { return f.Pos.Filename() == name }
		s.dynamic(e, r, nil, err, inText)
	}
	e.text = slices.Clone(e.Lines)
	return nil, finished(e)
}

func (s *Session) evaluateText(thread *starlark.Thread, name, src string) (starlark.Value, error) {
	if err := oneExpression(name, src); err != nil {
		return nil, err
	}
	g := &globals{dict: maps.Clone(s.pristine)}
	g.dict[nameGlobals] = g
	prog, _, err := s.compile(name, src, g)
	if err != nil {
		return nil, err
	}
	if _, err := prog.Init(thread, g.dict); err != nil {
		return nil, err
	}
	return g.last, nil
}

// oneExpression reports why a text, cleaned, is not one expression.
func oneExpression(name, src string) error {
	if err := sizeOf(src); err != nil {
		return err
	}
	if err := digits(name, src); err != nil {
		return err
	}
	parsed, _ := powers(src)
	_, err := dialect.ParseExpr(name, parsed, 0)
	return err
}

// CheckExpression reads a text as Evaluate would, and runs nothing: the error says why it is not one expression.
func CheckExpression(name, expression string) error { return oneExpression(name, clean(expression)) }

// CheckExpression reads a text as an expression of the session and runs nothing: the error, an *Error, says why it is
// not one.
func (s *Session) CheckExpression(name, expression string) error {
	src := clean(expression)
	err := oneExpression(name, src)
	if err == nil {
		return nil
	}
	s.remember(name, src)
	return s.fault(s.newRun(context.Background(), Cell{Name: name}, &collector{bounds: s.config.Bounds}), nil, err)
}
