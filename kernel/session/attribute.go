package session

import (
	"errors"
	"fmt"
	"runtime/debug"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/reports/nearest"
)

// plainMethods are the methods of Starlark's own values that need no guard: they neither panic nor make
// something much larger than what they are given. A cell calls them directly.
var plainMethods = func() map[string]bool {
	m := map[string]bool{}
	for _, v := range []starlark.HasAttrs{starlark.String(""), starlark.Bytes(""), new(starlark.List), new(starlark.Dict), new(starlark.Set)} {
		for _, name := range v.AttrNames() {
			m[name] = true
		}
	}
	for name := range boundedMethods {
		delete(m, name)
	}
	for name := range takesAll {
		delete(m, name)
	}
	return m
}()

func plainMethod(name string) bool { return plainMethods[name] }

// boundedMethods are the methods of strings whose result can be far longer than their operands.
var boundedMethods = map[string]func(s starlark.String, args starlark.Tuple) int{
	"join":    joinSize,
	"replace": replaceSize,
	"format":  nil, // ours altogether; see replace.go
}

// takesAll are the methods of collections that take in a whole other one.
var takesAll = map[string]bool{"extend": true, "update": true, "union": true}

func joinSize(s starlark.String, args starlark.Tuple) int {
	size := 0
	if len(args) == 1 {
		if seq, ok := args[0].(starlark.Iterable); ok {
			for e := range starlark.Elements(seq) {
				t, _ := starlark.AsString(e) // anything else is the method's own error
				size += len(t) + len(s)
			}
		}
	}
	return size
}

func replaceSize(s starlark.String, args starlark.Tuple) int {
	if len(args) < 2 {
		return 0
	}
	was, _ := starlark.AsString(args[0])
	is, _ := starlark.AsString(args[1])
	return len(s) + strings.Count(string(s), was)*len(is)
}

// Computing is a value some of whose attributes take long: they see the context of the cell through its thread, see
// ContextOf.
type Computing interface {
	starlark.HasAttrs
	AttrIn(thread *starlark.Thread, name string) (starlark.Value, error)
}

// attr is x.name.
func (g guard) attr(th *starlark.Thread, x starlark.Value, name string) (starlark.Value, error) {
	h, ok := x.(starlark.HasAttrs)
	if !ok {
		return nil, fmt.Errorf("%s has no .%s", x.Type(), name)
	}
	var v starlark.Value
	var err error
	if c, ok := x.(Computing); ok {
		v, err = c.AttrIn(th, name)
	} else {
		v, err = h.Attr(name)
	}
	var missing starlark.NoSuchAttrError
	switch {
	case errors.As(err, &missing):
		return nil, errors.New(string(missing) + meant(".", nearest.To(name, h.AttrNames())))
	case err != nil:
		return nil, err
	case v == nil:
		return nil, fmt.Errorf("%s has no .%s%s", x.Type(), name, meant(".", nearest.To(name, h.AttrNames())))
	}
	switch x := x.(type) {
	case starlark.String:
		if name == "format" {
			return starlark.NewBuiltin(name, func(_ *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
				t, err := g.replace(string(x), args, kwargs)
				return starlark.String(t), err
			}).BindReceiver(x), nil
		}
		if size := boundedMethods[name]; size != nil {
			return boundedMethod(g.Text, x, v.(*starlark.Builtin), size), nil
		}
	case *starlark.List, *starlark.Dict, *starlark.Set:
		if takesAll[name] {
			method := v.(*starlark.Builtin)
			return starlark.NewBuiltin(name, g.boundedCollection(method)).BindReceiver(x), nil
		}
	}
	return v, nil
}

func boundedMethod(limit int, s starlark.String, method *starlark.Builtin, size func(starlark.String, starlark.Tuple) int) starlark.Value {
	b := starlark.NewBuiltin(method.Name(), func(th *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
		if n := size(s, args); n > limit {
			return nil, overLimit("%s: a text of %d bytes is over the limit of %d", method.Name(), n, limit)
		}
		return method.CallInternal(th, args, kwargs)
	})
	return b.BindReceiver(s)
}

// caller is the hidden function that calls a word or a method and catches its panic while the stack of
// calls still tells where it was.
type caller struct {
	name string
	find func(th *starlark.Thread, args starlark.Tuple) (starlark.Value, starlark.Tuple, error)
}

func (c *caller) Name() string          { return c.name }
func (c *caller) String() string        { return "caller" }
func (c *caller) Type() string          { return "caller" }
func (c *caller) Freeze()               {}
func (c *caller) Truth() starlark.Bool  { return true }
func (c *caller) Hash() (uint32, error) { return 0, errors.New("unhashable type: caller") }

// CallInternal finds what is to be called and calls it.
func (c *caller) CallInternal(th *starlark.Thread, args starlark.Tuple, kwargs []starlark.Tuple) (v starlark.Value, err error) {
	name := "a call"
	defer func() { catchNamed(&name, recover(), &err) }()
	if c.name == opInvoke {
		name = "." + string(args[1].(starlark.String))
	}
	f, rest, err := c.find(th, args)
	if err != nil {
		return nil, err
	}
	if f, ok := f.(starlark.Callable); ok {
		name = f.Name()
	}
	return starlark.Call(th, f, rest, kwargs)
}

// panicError is a panic of a word, with the Go stack for those who ask.
type panicError struct {
	word  string
	value any
	stack []byte
}

func (e *panicError) Error() string {
	return fmt.Sprintf("%s: fault inside the program: %v", e.word, e.value)
}

// catch turns a panic into an error; it is to be deferred.
func catch(word string, err *error) {
	catchNamed(&word, recover(), err)
}

func catchNamed(word *string, value any, err *error) {
	if value != nil {
		*err = &panicError{*word, value, debug.Stack()}
	}
}
