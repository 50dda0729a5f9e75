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

// compareDepth bounds the nesting of values that are compared.
const compareDepth = 100

func (g guard) comparison() *Look { return newLook(g.Elements, lookBytes, compareDepth, g.ended) }

// equal is x == y.
func (g guard) equal(x, y starlark.Value) (bool, error) {
	if basic(x) && basic(y) {
		return starlark.Equal(x, y)
	}
	return g.comparison().Equal(x, y)
}

// basic reports whether v is of a kind that compares with its like without more ado.
func basic(v starlark.Value) bool {
	switch v.(type) {
	case starlark.Int, starlark.String, starlark.Float, starlark.Bool, starlark.NoneType:
		return true
	}
	return false
}

// enter counts a pair of values and goes one level down.
func (l *Look) enter(x, y starlark.Value) error {
	if err := l.Part(min(length(x), length(y))); err != nil {
		return err
	}
	return l.In()
}

// length is the bytes of a text.
func length(v starlark.Value) int {
	switch v := v.(type) {
	case starlark.String:
		return len(v)
	case starlark.Bytes:
		return len(v)
	}
	return 0
}

// Equal is x == y of values as a cell compares them, within the bounds of the look.
func (l *Look) Equal(x, y starlark.Value) (bool, error) {
	if err := l.enter(x, y); err != nil {
		return false, err
	}
	defer l.Out()
	x, y, err := mixed(x, y)
	if err != nil {
		return false, err
	}
	switch a := x.(type) {
	case *starlark.List:
		if b, ok := y.(*starlark.List); ok {
			return l.sequences(a, b)
		}
	case starlark.Tuple:
		if b, ok := y.(starlark.Tuple); ok {
			return l.sequences(a, b)
		}
	case *starlark.Dict:
		if b, ok := y.(*starlark.Dict); ok {
			return l.dicts(a, b)
		}
	case *starlark.Set:
		if b, ok := y.(*starlark.Set); ok && a.Len() == b.Len() {
			return l.subset(a, b)
		}
	}
	return starlark.Equal(x, y)
}

func (l *Look) sequences(x, y starlark.Indexable) (bool, error) {
	if x.Len() != y.Len() {
		return false, nil
	}
	for i := range x.Len() {
		if ok, err := l.Equal(x.Index(i), y.Index(i)); !ok || err != nil {
			return false, err
		}
	}
	return true, nil
}

func (l *Look) dicts(x, y *starlark.Dict) (bool, error) {
	if x.Len() != y.Len() {
		return false, nil
	}
	for k, v := range x.Entries() {
		if err := l.lookup(k); err != nil {
			return false, err
		}
		w, found, err := y.Get(k)
		if err != nil || !found {
			return false, err
		}
		if ok, err := l.Equal(v, w); !ok || err != nil {
			return false, err
		}
	}
	return true, nil
}

// subset reports whether every element of x is in y.
func (l *Look) subset(x, y *starlark.Set) (bool, error) {
	for k := range x.Elements() {
		if err := l.lookup(k); err != nil {
			return false, err
		}
		if in, err := y.Has(k); !in || err != nil {
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
	return nil, fmt.Errorf("cannot compare %s%s with the plain number %s: give the number a unit", shortened(q), what,
		shortened(number))
}

// order is x op y for < <= > >=.
func (g guard) order(op syntax.Token, x, y starlark.Value) (bool, error) {
	if basic(x) && basic(y) {
		return starlark.Compare(op, x, y)
	}
	return g.comparison().order(op, x, y)
}

func (l *Look) order(op syntax.Token, x, y starlark.Value) (bool, error) {
	if err := l.enter(x, y); err != nil {
		return false, err
	}
	defer l.Out()
	x, y, err := mixed(x, y)
	if err != nil {
		return false, err
	}
	switch a := x.(type) {
	case *starlark.List:
		if b, ok := y.(*starlark.List); ok {
			return l.lexical(op, a, b)
		}
	case starlark.Tuple:
		if b, ok := y.(starlark.Tuple); ok {
			return l.lexical(op, a, b)
		}
	case *starlark.Set:
		if b, ok := y.(*starlark.Set); ok {
			return l.inclusion(op, a, b)
		}
	}
	return starlark.Compare(op, x, y)
}

// inclusion orders two sets: x < y when x is a proper part of y.
func (l *Look) inclusion(op syntax.Token, x, y *starlark.Set) (bool, error) {
	if op == syntax.GT || op == syntax.GE {
		x, y = y, x
	}
	if x.Len() > y.Len() || x.Len() == y.Len() && (op == syntax.LT || op == syntax.GT) {
		return false, nil
	}
	return l.subset(x, y)
}

// lexical orders two sequences by the first elements that differ.
func (l *Look) lexical(op syntax.Token, x, y starlark.Indexable) (bool, error) {
	for i := range min(x.Len(), y.Len()) {
		same, err := l.Equal(x.Index(i), y.Index(i))
		if err != nil {
			return false, err
		}
		if !same {
			return l.order(op, x.Index(i), y.Index(i))
		}
	}
	return starlark.Compare(op, starlark.MakeInt(x.Len()), starlark.MakeInt(y.Len()))
}

// Compare is x op y for < <= > >= as a cell of thread has it.
func Compare(thread *starlark.Thread, op syntax.Token, x, y starlark.Value) (bool, error) {
	if basic(x) && basic(y) {
		return starlark.Compare(op, x, y)
	}
	return LookOf(thread).order(op, x, y)
}

// within is x in y.
func (g guard) within(x, y starlark.Value) (bool, error) {
	l := g.comparison()
	var seq starlark.Indexable
	switch y := y.(type) {
	case *starlark.List:
		seq = y
	case starlark.Tuple:
		seq = y
	case *starlark.Dict, *starlark.Set:
		if _, ok := x.(Dimensioned); ok { // the table would look among its like only
			for k := range starlark.Elements(y.(starlark.Iterable)) {
				if err := l.Part(0); err != nil {
					return false, err
				}
				if _, _, err := mixed(x, k); err != nil {
					return false, err
				}
			}
		}
		if err := g.key(x); err != nil {
			return false, err
		}
		v, err := starlark.Binary(syntax.IN, x, y)
		return v == starlark.True, err
	default:
		v, err := starlark.Binary(syntax.IN, x, y)
		return v == starlark.True, err
	}
	for i := range seq.Len() {
		if ok, err := l.Equal(seq.Index(i), x); ok || err != nil {
			return ok, err
		}
	}
	return false, nil
}
