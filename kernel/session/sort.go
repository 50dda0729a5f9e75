package session

import (
	"math"
	"slices"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"
)

// sortParts bounds what is looked at while a list is sorted: as many steps as a cell may take.
const sortParts = 1 << 30

// sortedOf is sorted(x, key=None, reverse=False). The library's own cannot be interrupted, and a million quantities
// take seconds.
func (g guard) sortedOf(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple,
	kwargs []starlark.Tuple) (starlark.Value, error) {
	var x starlark.Iterable
	var key starlark.Callable
	var reverse bool
	if err := starlark.UnpackArgs(b.Name(), nil, kwargs, "key?", &key, "reverse?", &reverse); err != nil {
		return nil, err
	}
	if err := starlark.UnpackPositionalArgs(b.Name(), args, nil, 1, &x); err != nil {
		return nil, err
	}
	if n := starlark.Len(x); n > g.Elements {
		return nil, overLimit("%s: %d elements are over the limit of %d", b.Name(), n, g.Elements)
	}
	type item struct{ key, value starlark.Value }
	ctx, l := ContextOf(th), newLook(sortParts, math.MaxInt, compareDepth, g.ended)
	items := make([]item, 0, max(starlark.Len(x), 0))
	for v := range starlark.Elements(x) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		k := v
		if key != nil {
			var err error
			if k, err = starlark.Call(th, key, starlark.Tuple{v}, nil); err != nil {
				return nil, err
			}
		}
		items = append(items, item{k, v})
	}
	err := abandoned(func(stop func(error)) {
		less := func(x, y starlark.Value) bool {
			ok, err := l.order(syntax.LT, x, y)
			if err != nil {
				stop(err)
			}
			return ok
		}
		slices.SortStableFunc(items, func(x, y item) int {
			if reverse {
				x, y = y, x
			}
			switch {
			case less(x.key, y.key):
				return -1
			case less(y.key, x.key):
				return +1
			}
			return 0
		})
	})
	if err != nil {
		return nil, err
	}
	list := make([]starlark.Value, len(items))
	for i, it := range items {
		list[i] = it.value
	}
	return starlark.NewList(list), nil
}

// abandoned runs f, which may call stop to leave at once from anywhere inside, and returns what stop was given.
func abandoned(f func(stop func(error))) (err error) {
	type left struct{ err error }
	defer func() {
		if p := recover(); p != nil {
			l, ok := p.(left)
			if !ok {
				panic(p)
			}
			err = l.err
		}
	}()
	f(func(err error) { panic(left{err}) })
	return nil
}
