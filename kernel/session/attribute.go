package session

import (
	"errors"
	"fmt"
	"runtime/debug"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/reports/nearest"
)

// methodGuard makes a method of one of Starlark's own values fit for a cell.
type methodGuard func(g guard, x starlark.Value, method *starlark.Builtin) function

func ofString(f func(guard, starlark.String, *starlark.Builtin) function) methodGuard {
	return func(g guard, x starlark.Value, m *starlark.Builtin) function { return f(g, x.(starlark.String), m) }
}

func ofSet(f func(guard, *starlark.Set, *starlark.Builtin) function) methodGuard {
	return func(g guard, x starlark.Value, m *starlark.Builtin) function { return f(g, x.(*starlark.Set), m) }
}

func ofDict(f func(guard, *starlark.Dict, *starlark.Builtin) function) methodGuard {
	return func(g guard, x starlark.Value, m *starlark.Builtin) function { return f(g, x.(*starlark.Dict), m) }
}

func ofList(f func(guard, *starlark.List, *starlark.Builtin) function) methodGuard {
	return func(g guard, x starlark.Value, m *starlark.Builtin) function { return f(g, x.(*starlark.List), m) }
}

func ofAny(f func(guard, *starlark.Builtin) function) methodGuard {
	return func(g guard, _ starlark.Value, m *starlark.Builtin) function { return f(g, m) }
}

func over(hashes bool) methodGuard {
	return func(g guard, _ starlark.Value, m *starlark.Builtin) function { return g.over(m, hashes, g.Elements) }
}

// methodGuards are, by type and name, for the methods that look at more of their operands than the outermost part, or
// make something much larger of them.
var methodGuards = map[string]methodGuard{
	"string.format":     ofString(guard.formatted),
	"string.join":       ofString(guard.joined),
	"string.replace":    ofString(guard.replaced),
	"string.split":      ofString(guard.cut),
	"string.rsplit":     ofString(guard.cut),
	"string.splitlines": ofString(guard.cut),
	"string.strip":      ofString(guard.stripped),
	"string.lstrip":     ofString(guard.stripped),
	"string.rstrip":     ofString(guard.stripped),
	"string.startswith": ofString(guard.begins),
	"string.endswith":   ofString(guard.begins),
	"string.upper":      ofString(guard.cased),
	"string.lower":      ofString(guard.cased),
	"string.title":      ofString(guard.lettered),
	"string.capitalize": ofString(guard.lettered),
	"string.isalnum":    ofString(guard.lettered),
	"string.isalpha":    ofString(guard.lettered),
	"string.isdigit":    ofString(guard.lettered),
	"string.islower":    ofString(guard.lettered),
	"string.isspace":    ofString(guard.lettered),
	"string.istitle":    ofString(guard.lettered),
	"string.isupper":    ofString(guard.lettered),

	"list.extend": ofList(guard.extended),
	"list.index":  ofList(guard.found),
	"list.remove": ofList(guard.found),

	"dict.get":        ofAny(guard.keyed),
	"dict.pop":        ofAny(guard.keyed),
	"dict.setdefault": ofAny(guard.keyed),
	"dict.items":      ofDict(guard.listed),
	"dict.keys":       ofDict(guard.listed),
	"dict.values":     ofDict(guard.listed),
	"dict.update":     ofAny(guard.intoDict),

	"set.add":                  ofAny(guard.keyed),
	"set.discard":              ofAny(guard.keyed),
	"set.remove":               ofAny(guard.keyed),
	"set.update":               over(true),
	"set.issubset":             over(true),
	"set.issuperset":           over(true),
	"set.union":                ofSet(guard.setMethod),
	"set.intersection":         ofSet(guard.setMethod),
	"set.difference":           ofSet(guard.setMethod),
	"set.symmetric_difference": ofSet(guard.setMethod),
}

// plainMethods are the names of methods of Starlark's own values that need no guard, whatever they belong to: a cell
// calls them directly.
var plainMethods = func() map[string]bool {
	m := map[string]bool{}
	for _, v := range []starlark.HasAttrs{starlark.String(""), starlark.Bytes(""), new(starlark.List),
		new(starlark.Dict), new(starlark.Set)} {
		for _, name := range v.AttrNames() {
			m[name] = true
		}
	}
	for name := range methodGuards {
		_, name, _ = strings.Cut(name, ".")
		delete(m, name)
	}
	return m
}()

func plainMethod(name string) bool { return plainMethods[name] }

// Computing is a value some of whose attributes take long: they see the context of the cell through its thread, see
// ContextOf.
type Computing interface {
	starlark.HasAttrs
	AttrIn(thread *starlark.Thread, name string) (starlark.Value, error)
}

// mostName is longer than any name of an attribute.
const mostName = 1000

// attr is x.name.
func (g guard) attr(th *starlark.Thread, x starlark.Value, name string) (starlark.Value, error) {
	h, ok := x.(starlark.HasAttrs)
	if !ok || len(name) > mostName {
		name = shorten(name)
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
	if method, ok := v.(*starlark.Builtin); ok && method.Receiver() == x {
		if guarded := methodGuards[x.Type()+"."+name]; guarded != nil {
			return starlark.NewBuiltin(name, guarded(g, x, method)).BindReceiver(x), nil
		}
	}
	return v, nil
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
func (c *caller) CallInternal(th *starlark.Thread, args starlark.Tuple, kwargs []starlark.Tuple) (v starlark.Value,
	err error) {
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
