package session

import (
	"fmt"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"
)

// Dimensioned is a value with a physical dimension. It never compares with a plain number: a cell that
// tries gets an error where plain Starlark would answer False.
type Dimensioned interface {
	starlark.Value
	Dimension() string // "length"
}

// Numeral is a dimensioned value that may be a plain number written otherwise, as 1 % is 0.01; it then compares with
// plain numbers as that number, as it adds to them.
type Numeral interface {
	Dimensioned
	Number() (n starlark.Float, ok bool)
}

// comparison bounds one comparison of nested values: how deep, and how many pairs in all. Pairs
// matter because a value may hold the same part many times over.
type comparison struct {
	depth int
	pairs int
}

const compareDepth = 100

// equal is x == y.
func (g guard) equal(x, y starlark.Value) (bool, error) {
	if basic(x) && basic(y) {
		return starlark.Equal(x, y)
	}
	c := comparison{compareDepth, g.Elements}
	return c.equal(x, y)
}

// basic reports whether v is of a kind that compares with its like without more ado.
func basic(v starlark.Value) bool {
	switch v.(type) {
	case starlark.Int, starlark.String, starlark.Float, starlark.Bool, starlark.NoneType:
		return true
	}
	return false
}

func (c *comparison) enter() error {
	c.depth--
	c.pairs--
	if c.depth < 0 {
		return overLimit("comparison of values nested more than %d deep", compareDepth)
	}
	if c.pairs < 0 {
		return overLimit("comparison of more elements than the limit")
	}
	return nil
}

func (c *comparison) equal(x, y starlark.Value) (bool, error) {
	if err := c.enter(); err != nil {
		return false, err
	}
	defer func() { c.depth++ }()
	x, y, err := mixed(x, y)
	if err != nil {
		return false, err
	}
	switch a := x.(type) {
	case *starlark.List:
		if b, ok := y.(*starlark.List); ok {
			return c.sequences(a, b)
		}
	case starlark.Tuple:
		if b, ok := y.(starlark.Tuple); ok {
			return c.sequences(a, b)
		}
	case *starlark.Dict:
		if b, ok := y.(*starlark.Dict); ok {
			return c.dicts(a, b)
		}
	}
	return starlark.Equal(x, y)
}

func (c *comparison) sequences(x, y starlark.Indexable) (bool, error) {
	if x.Len() != y.Len() {
		return false, nil
	}
	for i := range x.Len() {
		if ok, err := c.equal(x.Index(i), y.Index(i)); !ok || err != nil {
			return false, err
		}
	}
	return true, nil
}

func (c *comparison) dicts(x, y *starlark.Dict) (bool, error) {
	if x.Len() != y.Len() {
		return false, nil
	}
	for k, v := range x.Entries() {
		w, found, err := y.Get(k)
		if err != nil || !found {
			return false, err
		}
		if ok, err := c.equal(v, w); !ok || err != nil {
			return false, err
		}
	}
	return true, nil
}

// mixed makes two values ready to be compared: it refuses a dimensioned value beside a plain number, unless the value
// is a number itself, and then puts that in its place.
func mixed(x, y starlark.Value) (a, b starlark.Value, err error) {
	if isNumber(y) {
		x, err = beside(x, y)
	} else if isNumber(x) {
		y, err = beside(y, x)
	}
	return x, y, err
}

func isNumber(v starlark.Value) bool {
	switch v.(type) {
	case starlark.Int, starlark.Float:
		return true
	}
	return false
}

// beside returns v as it compares with a plain number.
func beside(v, number starlark.Value) (starlark.Value, error) {
	if q, ok := v.(Numeral); ok {
		if n, ok := q.Number(); ok {
			return n, nil
		}
	}
	q, ok := v.(Dimensioned)
	if !ok {
		return v, nil
	}
	what := ""
	if d := q.Dimension(); d != "" {
		what = " (" + d + ")"
	}
	return nil, fmt.Errorf("cannot compare %s%s with the plain number %s: give the number a unit", shorten(q.String()), what, shorten(number.String()))
}

// order is x op y for < <= > >=.
func (g guard) order(op syntax.Token, x, y starlark.Value) (bool, error) {
	if basic(x) && basic(y) {
		return starlark.Compare(op, x, y)
	}
	c := comparison{compareDepth, g.Elements}
	return c.order(op, x, y)
}

func (c *comparison) order(op syntax.Token, x, y starlark.Value) (bool, error) {
	if err := c.enter(); err != nil {
		return false, err
	}
	x, y, err := mixed(x, y)
	if err != nil {
		return false, err
	}
	switch a := x.(type) {
	case *starlark.List:
		if b, ok := y.(*starlark.List); ok {
			return c.lexical(op, a, b)
		}
	case starlark.Tuple:
		if b, ok := y.(starlark.Tuple); ok {
			return c.lexical(op, a, b)
		}
	}
	return starlark.Compare(op, x, y)
}

// lexical orders two sequences by the first elements that differ.
func (c *comparison) lexical(op syntax.Token, x, y starlark.Indexable) (bool, error) {
	for i := range min(x.Len(), y.Len()) {
		same, err := c.equal(x.Index(i), y.Index(i))
		if err != nil {
			return false, err
		}
		if !same {
			return c.order(op, x.Index(i), y.Index(i))
		}
	}
	return starlark.Compare(op, starlark.MakeInt(x.Len()), starlark.MakeInt(y.Len()))
}

// within is x in y.
func (g guard) within(x, y starlark.Value) (bool, error) {
	var seq starlark.Indexable
	switch y := y.(type) {
	case *starlark.List:
		seq = y
	case starlark.Tuple:
		seq = y
	case *starlark.Dict, *starlark.Set:
		if _, ok := x.(Dimensioned); ok { // the table would look among its like only
			for k := range starlark.Elements(y.(starlark.Iterable)) {
				if _, _, err := mixed(x, k); err != nil {
					return false, err
				}
			}
		}
		v, err := starlark.Binary(syntax.IN, x, y)
		return v == starlark.True, err
	default:
		v, err := starlark.Binary(syntax.IN, x, y)
		return v == starlark.True, err
	}
	c := comparison{compareDepth, g.Elements}
	for i := range seq.Len() {
		if ok, err := c.equal(seq.Index(i), x); ok || err != nil {
			return ok, err
		}
	}
	return false, nil
}
