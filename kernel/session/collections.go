package session

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"
)

// over returns f as it takes in its arguments through a Look: the library itself would go through whole
// collections where neither steps nor the heap are looked at. Hashes says that it makes keys of the elements.
func (g guard) over(f *starlark.Builtin, hashes bool, most int) function {
	through := g.watched(f, func() *intake { return g.intake(hashes, most) })
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		if err := g.fits(f.Name(), args); err != nil {
			return nil, err
		}
		return through(th, b, args, kwargs)
	}
}

// through is over for what makes nothing of the elements.
func (g guard) through(f *starlark.Builtin) function {
	return g.watched(f, func() *intake { return g.intake(false, lookParts) })
}

func (g guard) watched(f *starlark.Builtin, begin func() *intake) function {
	return func(th *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		w := begin()
		guarded := make(starlark.Tuple, len(args))
		for i, a := range args {
			guarded[i] = w.over(a)
		}
		v, err := f.CallInternal(th, guarded, kwargs)
		if w.err != nil {
			return nil, fmt.Errorf("%s: %w", f.Name(), w.err)
		}
		return v, err
	}
}

// extended is x.extend(y). A list is taken as it is: the library copies it in one go, even into itself.
func (g guard) extended(x *starlark.List, f *starlark.Builtin) function {
	other := g.over(f, false, g.Elements)
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		if _, ok := first(args).(*starlark.List); !ok {
			return other(th, b, args, kwargs)
		}
		if n := x.Len() + starlark.Len(args[0]); n > g.Elements {
			return nil, overLimit("%s: %d elements are over the limit of %d", f.Name(), n, g.Elements)
		}
		return f.CallInternal(th, args, kwargs)
	}
}

// fits refuses collections whose elements would make too large a one.
func (g guard) fits(name string, args starlark.Tuple) error {
	for _, a := range args {
		if n := starlark.Len(a); n > g.Elements/len(args) {
			return overLimit("%s: %d elements are over the limit of %d", name, n, g.Elements/len(args))
		}
	}
	return nil
}

// pairs are the entries of a mapping as a collection, which dict(x) and d.update(x) take as well.
type pairs struct{ starlark.IterableMapping }

func (p pairs) Iterate() starlark.Iterator {
	if d, ok := p.IterableMapping.(*starlark.Dict); ok {
		return &entries{d, d.Iterate()}
	}
	list := make([]starlark.Value, 0)
	for _, item := range p.Items() {
		list = append(list, item)
	}
	return starlark.NewList(list).Iterate()
}

// Items and Get of the mapping are out of sight, so that the library goes through Iterate.
func (p pairs) plain() starlark.Iterable { return struct{ starlark.Iterable }{p} }

type entries struct {
	dict *starlark.Dict
	starlark.Iterator
}

func (e *entries) Next(p *starlark.Value) bool {
	var k starlark.Value
	if !e.Iterator.Next(&k) {
		return false
	}
	v, _, err := e.dict.Get(k) // a key of the dict itself
	*p = starlark.Tuple{k, v}
	return err == nil
}

// intoDict is dict(x) and d.update(x): the keys of the pairs are hashed, and not their values.
func (g guard) intoDict(f *starlark.Builtin) function {
	through := g.watched(f, func() *intake { w := g.intake(false, g.Elements); w.pairs = true; return w })
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		if err := g.fits(f.Name(), args); err != nil {
			return nil, err
		}
		args = slices.Clone(args)
		for i, a := range args {
			if m, ok := a.(starlark.IterableMapping); ok {
				args[i] = pairs{m}.plain()
			}
		}
		return through(th, b, args, kwargs)
	}
}

// merged is a new dict of the entries of both, those of y before those of x.
func (g guard) merged(into, x, y *starlark.Dict) (starlark.Value, error) {
	l := g.look()
	for _, from := range []*starlark.Dict{x, y} {
		if from == into || from == nil {
			continue
		}
		for k, v := range from.Entries() {
			if err := l.lookup(k); err != nil {
				return nil, err
			}
			if err := into.SetKey(k, v); err != nil {
				return nil, err
			}
		}
	}
	return into, nil
}

// setOf makes a set of what keep lets through of x and then of y.
func (g guard) setOf(x, y starlark.Iterable, keepX, keepY func(starlark.Value) (bool, error)) (*starlark.Set, error) {
	l, z := g.look(), new(starlark.Set)
	add := func(from starlark.Iterable, keep func(starlark.Value) (bool, error)) error {
		for e := range starlark.Elements(from) {
			if err := g.hashing(l, e); err != nil {
				return err
			}
			if ok, err := keep(e); err != nil || !ok {
				if err != nil {
					return err
				}
				continue
			}
			if err := z.Insert(e); err != nil {
				return err
			}
			if z.Len() > g.Elements {
				return overLimit("a set of more than %d elements is over the limit", g.Elements)
			}
		}
		return nil
	}
	if err := add(x, keepX); err != nil {
		return nil, err
	}
	if y == nil {
		return z, nil
	}
	return z, add(y, keepY)
}

func always(starlark.Value) (bool, error) { return true, nil }

func not(in func(starlark.Value) (bool, error)) func(starlark.Value) (bool, error) {
	return func(v starlark.Value) (bool, error) {
		ok, err := in(v)
		return !ok, err
	}
}

// setOperation is x op y of two sets, in the order that the library's own has.
func (g guard) setOperation(op syntax.Token, x, y *starlark.Set) (starlark.Value, error) {
	switch op {
	case syntax.PIPE:
		return g.setOf(x, y, always, always)
	case syntax.AMP:
		return g.setOf(y, nil, x.Has, nil)
	case syntax.MINUS:
		return g.setOf(x, nil, not(y.Has), nil)
	}
	return g.setOf(x, y, not(y.Has), not(x.Has))
}

// setOperators are the operators that sets share with numbers.
var setOperators = map[string]syntax.Token{
	"union": syntax.PIPE, "intersection": syntax.AMP, "difference": syntax.MINUS,
	"symmetric_difference": syntax.CIRCUMFLEX,
}

// setMethod is x.union(y) and the like, where y may be any collection; union takes several.
func (g guard) setMethod(x *starlark.Set, f *starlark.Builtin) function {
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		if len(args) == 0 || len(args) > 1 && b.Name() != "union" || len(kwargs) > 0 {
			return f.CallInternal(th, args, kwargs) // its own error, or nothing to do
		}
		var v starlark.Value = x
		for _, a := range args {
			it, ok := a.(starlark.Iterable)
			if !ok {
				return f.CallInternal(th, starlark.Tuple{a}, nil) // the error of one that is no collection
			}
			y, ok := a.(*starlark.Set)
			var err error
			if !ok {
				if y, err = g.setOf(it, nil, always, nil); err != nil {
					return nil, fmt.Errorf("%s: %w", b.Name(), err)
				}
			}
			if v, err = g.setOperation(setOperators[b.Name()], v.(*starlark.Set), y); err != nil {
				return nil, fmt.Errorf("%s: %w", b.Name(), err)
			}
		}
		return v, nil
	}
}

// keyed is a method whose first argument is a key.
func (g guard) keyed(f *starlark.Builtin) function {
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		if len(args) > 0 {
			if err := g.key(args[0]); err != nil {
				return nil, fmt.Errorf("%s: %w", b.Name(), err)
			}
		}
		return f.CallInternal(th, args, kwargs)
	}
}

// listed is d.items(), d.keys() and d.values().
func (g guard) listed(d *starlark.Dict, f *starlark.Builtin) function {
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		if len(args)+len(kwargs) > 0 {
			return f.CallInternal(th, args, kwargs)
		}
		if err := g.fits(b.Name(), starlark.Tuple{d}); err != nil {
			return nil, err
		}
		l, list := g.look(), make([]starlark.Value, 0, d.Len())
		for k, v := range d.Entries() {
			if err := l.Part(0); err != nil {
				return nil, err
			}
			switch b.Name() {
			case "items":
				list = append(list, starlark.Tuple{k, v})
			case "keys":
				list = append(list, k)
			default:
				list = append(list, v)
			}
		}
		return starlark.NewList(list), nil
	}
}

// found is x.index(v, start, end) and x.remove(v) of a list.
func (g guard) found(x *starlark.List, f *starlark.Builtin) function {
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		if len(args) == 0 || basic(args[0]) && x.Len() < lookEvery/16 {
			return f.CallInternal(th, args, kwargs)
		}
		// The library is asked about the place that was found, so that bounds and errors are its own.
		l := g.comparison()
		start := 0
		if len(args) > 1 && b.Name() == "index" {
			if n, err := starlark.AsInt32(args[1]); err == nil {
				if start = n; n < 0 {
					start = max(n+x.Len(), 0)
				}
			}
		}
		for i := start; i < x.Len(); i++ {
			same, err := l.Equal(x.Index(i), args[0])
			if err != nil {
				return nil, fmt.Errorf("%s: %w", b.Name(), err)
			}
			if !same {
				continue
			}
			if b.Name() == "index" {
				end := x.Len()
				if len(args) > 2 {
					if n, err := starlark.AsInt32(args[2]); err == nil {
						if end = n; n < 0 {
							end = n + x.Len()
						}
					}
				}
				if i < end {
					return starlark.MakeInt(i), nil
				}
				break
			}
			pop, err := x.Attr("pop")
			if err != nil {
				return nil, err
			}
			_, err = starlark.Call(th, pop, starlark.Tuple{starlark.MakeInt(i)}, nil)
			return starlark.None, err
		}
		if b.Name() == "index" {
			return nil, fmt.Errorf("index: value not in list")
		}
		return nil, fmt.Errorf("remove: element not found")
	}
}

// extremeOf is min and max, where no word takes their place.
func (g guard) extremeOf(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple,
	kwargs []starlark.Tuple) (starlark.Value, error) {
	if len(args) == 1 && starlark.Len(args[0]) != 0 {
		if it, ok := args[0].(starlark.Iterable); ok {
			args = nil
			for v := range starlark.Elements(it) {
				if args = append(args, v); len(args) > g.Elements {
					return nil, overLimit("%s: more elements than the limit of %d", b.Name(), g.Elements)
				}
			}
		}
	}
	var key starlark.Callable
	if err := starlark.UnpackArgs(b.Name(), nil, kwargs, "key?", &key); err != nil {
		return nil, err
	}
	if len(args) < 2 {
		return starlark.Universe[b.Name()].(*starlark.Builtin).CallInternal(th, args, kwargs)
	}
	op := map[string]syntax.Token{"min": syntax.LT, "max": syntax.GT}[b.Name()]
	l := newLook(sortParts, math.MaxInt, compareDepth, g.ended)
	var best, bestKey starlark.Value
	for i, v := range args {
		k := v
		if key != nil {
			var err error
			if k, err = starlark.Call(th, key, starlark.Tuple{v}, nil); err != nil {
				return nil, err
			}
		}
		better := i == 0
		if i > 0 {
			var err error
			if better, err = l.order(op, k, bestKey); err != nil {
				return nil, fmt.Errorf("%s: %w", b.Name(), err)
			}
		}
		if better {
			best, bestKey = v, k
		}
	}
	return best, nil
}

// joined is s.join(x).
func (g guard) joined(s starlark.String, f *starlark.Builtin) function {
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		if len(args) != 1 || len(kwargs) > 0 {
			return f.CallInternal(th, args, kwargs)
		}
		it, ok := args[0].(starlark.Iterable)
		if !ok {
			return f.CallInternal(th, args, kwargs)
		}
		var all strings.Builder
		l, sep := g.look(), ""
		for e := range starlark.Elements(it) {
			t, ok := starlark.AsString(e)
			if !ok {
				return nil, fmt.Errorf("join: in list, want string, got %s", e.Type())
			}
			if err := l.Part(len(sep) + len(t)); err != nil {
				return nil, err
			}
			if n := all.Len() + len(sep) + len(t); n > g.Text {
				return nil, overLimit("join: a text of more than %d bytes is over the limit", g.Text)
			}
			all.WriteString(sep)
			all.WriteString(t)
			sep = string(s)
		}
		return starlark.String(all.String()), nil
	}
}
