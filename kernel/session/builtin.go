package session

import (
	"fmt"
	"sort"

	"go.starlark.net/starlark"
)

// function is what stands behind a built-in.
type function = func(*starlark.Thread, *starlark.Builtin, starlark.Tuple, []starlark.Tuple) (starlark.Value, error)

// builtinFunctions returns the functions every cell has: Starlark's own, some of them bounded. A panic of
// a word that one of them calls, or of a value that it reads, is caught at the function.
func (s *Session) builtinFunctions() starlark.StringDict {
	own := map[string]function{
		"range":   s.guard.rangeOf,
		"int":     s.guard.intOf,
		"float":   s.guard.floatOf,
		"str":     s.guard.strOf,
		"repr":    s.guard.reprOf,
		"fail":    s.guard.fail,
		"getattr": s.guard.getattr,
		"dir":     s.dir,
		"print":   s.print,
		"sorted":  s.guard.sortedOf,
		"min":     s.guard.extremeOf,
		"max":     s.guard.extremeOf,
		"dict":    s.guard.intoDict(starlark.Universe["dict"].(*starlark.Builtin)),
		"set":     s.guard.over(starlark.Universe["set"].(*starlark.Builtin), true, s.guard.Elements),
	}
	for _, name := range []string{"bytes", "enumerate", "list", "reversed", "tuple", "zip"} {
		own[name] = s.guard.over(starlark.Universe[name].(*starlark.Builtin), false, s.guard.Elements)
	}
	for _, name := range []string{"all", "any"} { // which make nothing
		own[name] = s.guard.through(starlark.Universe[name].(*starlark.Builtin))
	}
	d := starlark.StringDict{}
	for name, v := range starlark.Universe {
		d[name] = v
		f := own[name]
		if b, ok := v.(*starlark.Builtin); ok && f == nil {
			f = func(th *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple,
				kwargs []starlark.Tuple) (starlark.Value, error) {
				return b.CallInternal(th, args, kwargs)
			}
		}
		if f != nil {
			d[name] = starlark.NewBuiltin(name, catching(f))
		}
	}
	return d
}

func catching(f function) function {
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple,
		kwargs []starlark.Tuple) (v starlark.Value, err error) {
		defer catch(b.Name(), &err)
		return f(th, b, args, kwargs)
	}
}

func (g guard) rangeOf(th *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple,
	kwargs []starlark.Tuple) (starlark.Value, error) {
	v, err := starlark.Universe["range"].(*starlark.Builtin).CallInternal(th, args, kwargs)
	if err != nil {
		return nil, err
	}
	if n := starlark.Len(v); n > g.Range || n < 0 {
		return nil, overLimit("range: %s has more elements than the limit of %d", v, g.Range)
	}
	return v, nil
}

// intOf bounds the digits: reading a whole number takes time with the square of its length.
func (g guard) intOf(th *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple,
	kwargs []starlark.Tuple) (starlark.Value, error) {
	if len(args) > 0 {
		if t, ok := starlark.AsString(args[0]); ok && len(t) > g.IntegerBits/3 {
			return nil, overLimit("int: %d digits are over the limit of %d", len(t), g.IntegerBits/3)
		}
	}
	return starlark.Universe["int"].(*starlark.Builtin).CallInternal(th, args, kwargs)
}

// mostFloat is the longest text that is read as a float (a choice); an error of the library would show all of it.
const mostFloat = 1000

func (g guard) floatOf(th *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple,
	kwargs []starlark.Tuple) (starlark.Value, error) {
	if t, ok := starlark.AsString(first(args)); ok && len(t) > mostFloat {
		return nil, overLimit("float: a text of %d bytes is over the limit of %d", len(t), mostFloat)
	}
	return starlark.Universe["float"].(*starlark.Builtin).CallInternal(th, args, kwargs)
}

func (g guard) strOf(_ *starlark.Thread, b *starlark.Builtin, args starlark.Tuple,
	kwargs []starlark.Tuple) (starlark.Value, error) {
	var x starlark.Value
	if err := starlark.UnpackPositionalArgs(b.Name(), args, kwargs, 1, &x); err != nil {
		return nil, err
	}
	t, err := g.str(x)
	return starlark.String(t), err
}

func (g guard) reprOf(_ *starlark.Thread, b *starlark.Builtin, args starlark.Tuple,
	kwargs []starlark.Tuple) (starlark.Value, error) {
	var x starlark.Value
	if err := starlark.UnpackPositionalArgs(b.Name(), args, kwargs, 1, &x); err != nil {
		return nil, err
	}
	t, err := g.repr(x)
	return starlark.String(t), err
}

func (g guard) getattr(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple,
	kwargs []starlark.Tuple) (starlark.Value, error) {
	var x, dflt starlark.Value
	var name string
	if err := starlark.UnpackPositionalArgs(b.Name(), args, kwargs, 2, &x, &name, &dflt); err != nil {
		return nil, err
	}
	v, err := g.attr(th, x, name)
	if err != nil && dflt != nil {
		return dflt, nil
	}
	return v, err
}

// dir lists the attributes of a value, or without one the names a cell can use.
func (s *Session) dir(_ *starlark.Thread, b *starlark.Builtin, args starlark.Tuple,
	kwargs []starlark.Tuple) (starlark.Value, error) {
	var x starlark.Value
	if err := starlark.UnpackPositionalArgs(b.Name(), args, kwargs, 0, &x); err != nil {
		return nil, err
	}
	names := s.Names()
	if x != nil {
		names = nil
		if h, ok := x.(starlark.HasAttrs); ok {
			names = append(names, h.AttrNames()...)
			sort.Strings(names)
		}
	}
	elems := make([]starlark.Value, len(names))
	for i, n := range names {
		elems[i] = starlark.String(n)
	}
	return starlark.NewList(elems), nil
}

// line is what print writes for its arguments.
func (g guard) line(b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple, end string) (string, error) {
	sep := " "
	if err := starlark.UnpackArgs(b.Name(), nil, kwargs, "sep?", &sep, "end?", &end); err != nil {
		return "", err
	}
	w := g.writer()
	for i, a := range args {
		if i > 0 {
			if err := w.put(sep); err != nil {
				return "", err
			}
		}
		t, err := g.printed(a)
		if err != nil {
			return "", err
		}
		if err := w.put(t); err != nil {
			return "", err
		}
	}
	err := w.put(end)
	return w.String(), err
}

// Printed is a value that print shows with the digits that mean something, as at the end of a cell; str gives all.
type Printed interface{ Printed() string }

func (g guard) printed(v starlark.Value) (string, error) {
	if p, ok := v.(Printed); ok {
		return p.Printed(), nil
	}
	return g.str(v)
}

func (s *Session) print(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple,
	kwargs []starlark.Tuple) (starlark.Value, error) {
	t, err := s.guard.line(b, args, kwargs, "\n")
	if err != nil {
		return nil, err
	}
	r, ok := th.Local(runKey).(*run)
	if !ok {
		return nil, fmt.Errorf("print: no cell is running")
	}
	return starlark.None, r.out.print(t)
}

func (g guard) fail(_ *starlark.Thread, b *starlark.Builtin, args starlark.Tuple,
	kwargs []starlark.Tuple) (starlark.Value, error) {
	t, err := g.line(b, args, kwargs, "")
	if err != nil {
		return nil, err
	}
	return nil, fmt.Errorf("fail: %s", cut(t, mostMessage))
}
