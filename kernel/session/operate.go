package session

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"math/bits"
	"runtime/debug"
	"slices"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"
)

// Powered is a value that has powers.
type Powered interface {
	starlark.Value
	// Power returns the value to the power y. The error says which powers there are.
	Power(y starlark.Value) (starlark.Value, error)
}

// guard holds what the hidden functions do, within the bounds of the session.
type guard struct {
	Bounds
	ended func() error // why the running cell is to end, nil while it is not; may itself be nil
}

// operator is a hidden function of two operands.
type operator struct {
	name string
	f    func(th *starlark.Thread, x, y starlark.Value) (starlark.Value, error)
}

func (o *operator) Name() string          { return o.name }
func (o *operator) String() string        { return "operator" + o.name }
func (o *operator) Type() string          { return "operator" }
func (o *operator) Freeze()               {}
func (o *operator) Truth() starlark.Bool  { return true }
func (o *operator) Hash() (uint32, error) { return 0, errors.New("unhashable type: operator") }

// CallInternal applies the operator, to its one operand twice if there is but one; a panic of a value's own arithmetic
// becomes an error here.
func (o *operator) CallInternal(th *starlark.Thread, args starlark.Tuple, _ []starlark.Tuple) (v starlark.Value,
	err error) {
	defer o.catch(args, &err)
	return o.f(th, args[0], args[len(args)-1])
}

// catch is apart from catch(name, err) so that the name is put together only when there is a panic.
func (o *operator) catch(args starlark.Tuple, err *error) {
	if p := recover(); p != nil {
		what := "operator" + o.name
		if name, ok := args[len(args)-1].(starlark.String); ok && o.name == opAttr {
			what = "." + string(name)
		}
		*err = &panicError{what, p, debug.Stack()}
	}
}

// hiddenFunctions returns the functions that rewritten cells call, by their hidden names.
func (g guard) hiddenFunctions() starlark.StringDict {
	d := starlark.StringDict{nameSeal: starlark.None}
	add := func(name string, f func(x, y starlark.Value) (starlark.Value, error)) {
		d[name] = &operator{name, func(_ *starlark.Thread, x, y starlark.Value) (starlark.Value,
			error) {
			return f(x, y)
		}}
	}
	add(opMul, g.mul)
	add(opMod, g.mod)
	add(opPower, g.power)
	add(opAdd, g.add)
	add(opGrow, g.grow)
	add(opMinus, g.onSets(syntax.MINUS))
	add(opUnion, g.onSets(syntax.PIPE))
	add(opCommon, g.onSets(syntax.AMP))
	add(opEither, g.onSets(syntax.CIRCUMFLEX))
	add(opUnite, g.unite)
	add(opShift, g.shift)
	add(opKey, func(x, _ starlark.Value) (starlark.Value, error) { return x, g.key(x) })
	add(opStar, g.star)
	add(opNamed, g.named)
	add(" ==", func(x, y starlark.Value) (starlark.Value, error) {
		ok, err := g.equal(x, y)
		return starlark.Bool(ok), err
	})
	add(" !=", func(x, y starlark.Value) (starlark.Value, error) {
		ok, err := g.equal(x, y)
		return starlark.Bool(!ok), err
	})
	for _, op := range []syntax.Token{syntax.LT, syntax.LE, syntax.GT, syntax.GE} {
		add(guarded[op], func(x, y starlark.Value) (starlark.Value, error) {
			ok, err := g.order(op, x, y)
			return starlark.Bool(ok), err
		})
	}
	add(" in", func(x, y starlark.Value) (starlark.Value, error) {
		ok, err := g.within(x, y)
		return starlark.Bool(ok), err
	})
	add(" not in", func(x, y starlark.Value) (starlark.Value, error) {
		ok, err := g.within(x, y)
		return starlark.Bool(!ok), err
	})
	d[opAttr] = &operator{opAttr, func(th *starlark.Thread, x, name starlark.Value) (starlark.Value, error) {
		return g.attr(th, x, string(name.(starlark.String)))
	}}
	d[opCall] = &caller{name: opCall, find: func(_ *starlark.Thread, args starlark.Tuple) (starlark.Value,
		starlark.Tuple, error) {
		return args[0], args[1:], nil
	}}
	d[opInvoke] = &caller{name: opInvoke, find: func(th *starlark.Thread, args starlark.Tuple) (starlark.Value,
		starlark.Tuple, error) {
		f, err := g.attr(th, args[0], string(args[1].(starlark.String)))
		return f, args[2:], err
	}}
	return d
}

// mul is x * y with bounded repeats and whole numbers.
func (g guard) mul(x, y starlark.Value) (starlark.Value, error) {
	switch a := x.(type) {
	case starlark.Float:
	case starlark.Int:
		switch b := y.(type) {
		case starlark.Float:
		case starlark.Int:
			if n := bitLen(a) + bitLen(b); n > max(g.IntegerBits, 128) {
				return nil, overLimit("a whole number of %d bits is over the limit of %d: write 2.0 for 2 to count "+
					"in floats", n, g.IntegerBits)
			}
		default:
			if err := g.repeat(y, a); err != nil {
				return nil, err
			}
		}
	default:
		if n, ok := y.(starlark.Int); ok {
			if err := g.repeat(x, n); err != nil {
				return nil, err
			}
		}
	}
	return starlark.Binary(syntax.STAR, x, y)
}

func bitLen(i starlark.Int) int {
	if small, ok := i.Int64(); ok {
		return bits.Len64(uint64(max(small, -small)))
	}
	return i.BigInt().BitLen()
}

// repeat refuses to make n copies of a text or a sequence when that is too much.
func (g guard) repeat(v starlark.Value, n starlark.Int) error {
	size, limit, what := g.size(v)
	if size == 0 {
		return nil
	}
	if k, ok := n.Int64(); (!ok && n.Sign() > 0) || k > int64(limit/size) {
		return overLimit("repeating %d %s %s times is over the limit of %d %s", size, what, n, limit, what)
	}
	return nil
}

// size is what a sum or a repeat of v takes, with the limit it is under.
func (g guard) size(v starlark.Value) (size, limit int, what string) {
	switch v := v.(type) {
	case starlark.Int, starlark.Float:
		return 0, g.Elements, "elements"
	case starlark.String:
		return len(v), g.Text, "bytes"
	case starlark.Bytes:
		return len(v), g.Text, "bytes"
	case *starlark.List:
		return v.Len(), g.Elements, "elements"
	case starlark.Tuple:
		return v.Len(), g.Elements, "elements"
	}
	return 0, g.Elements, "elements"
}

// add is x + y. A text or list added to itself doubles, and forty times over fills any machine before the
// watch over the heap is looked at.
func (g guard) add(x, y starlark.Value) (starlark.Value, error) {
	n, limit, what := g.size(x)
	if m, _, _ := g.size(y); n > 0 && m > 0 && n > limit-m {
		return nil, overLimit("a sum of %d %s is over the limit of %d", n+m, what, limit)
	}
	return starlark.Binary(syntax.PLUS, x, y)
}

// Add is x + y as a cell of thread has it.
func Add(thread *starlark.Thread, x, y starlark.Value) (starlark.Value, error) {
	if r, ok := thread.Local(runKey).(*run); ok {
		return r.session.guard.add(x, y)
	}
	return starlark.Binary(syntax.PLUS, x, y)
}

// grow returns y, when x += y may take all of it in place.
func (g guard) grow(y, _ starlark.Value) (starlark.Value, error) {
	n, limit, what := g.size(y)
	if n == 0 {
		n = starlark.Len(y) // a range, say
	}
	if n > limit {
		return nil, overLimit("adding %d %s is over the limit of %d", n, what, limit)
	}
	return y, nil
}

// onSets is x op y for an operator that sets share with numbers.
func (g guard) onSets(op syntax.Token) func(x, y starlark.Value) (starlark.Value, error) {
	return func(x, y starlark.Value) (starlark.Value, error) {
		switch a := x.(type) {
		case *starlark.Set:
			if b, ok := y.(*starlark.Set); ok {
				return g.setOperation(op, a, b)
			}
		case *starlark.Dict:
			if b, ok := y.(*starlark.Dict); ok && op == syntax.PIPE {
				return g.merged(new(starlark.Dict), a, b)
			}
		}
		return starlark.Binary(op, x, y)
	}
}

// unite is x |= y.
func (g guard) unite(x, y starlark.Value) (starlark.Value, error) {
	a, okx := x.(*starlark.Dict)
	b, oky := y.(*starlark.Dict)
	if okx && oky {
		return g.merged(a, nil, b)
	}
	return g.onSets(syntax.PIPE)(x, y)
}

// shift is x << y with bounded whole numbers.
func (g guard) shift(x, y starlark.Value) (starlark.Value, error) {
	a, okx := x.(starlark.Int)
	b, oky := y.(starlark.Int)
	if n, small := b.Int64(); okx && oky && b.Sign() > 0 && (!small || n > int64(max(g.IntegerBits-bitLen(a), 0))) {
		return nil, overLimit("%s << %s is a whole number of more than %d bits", shortened(x), shortened(y),
			g.IntegerBits)
	}
	return starlark.Binary(syntax.LTLT, x, y)
}

// Arguments that * and ** make of a collection, which the interpreter copies in one go (a choice: some 50 ms).
const (
	mostPlaced = 1 << 18
	mostNamed  = 1 << 12
)

// star returns what *x stands for in a call.
func (g guard) star(x, _ starlark.Value) (starlark.Value, error) {
	it, ok := x.(starlark.Iterable)
	switch n := starlark.Len(x); {
	case !ok:
		return x, nil // the interpreter says what is wrong with it
	case n > mostPlaced:
		return nil, overLimit("%d arguments are over the limit of %d", n, mostPlaced)
	case n >= 0:
		return x, nil
	}
	w := g.intake(false, mostPlaced)
	all := slices.Collect(starlark.Elements(watched{it, w}))
	return starlark.Tuple(all), w.err
}

// named returns what **x stands for in a call.
func (g guard) named(x, _ starlark.Value) (starlark.Value, error) {
	if n := starlark.Len(x); n > mostNamed {
		return nil, overLimit("%d named arguments are over the limit of %d", n, mostNamed)
	}
	return x, nil
}

// mod is x % y, the remainder of numbers or the formatting of a text.
func (g guard) mod(x, y starlark.Value) (starlark.Value, error) {
	if s, ok := x.(starlark.String); ok {
		t, err := g.interpolate(string(s), y)
		return starlark.String(t), err
	}
	return starlark.Binary(syntax.PERCENT, x, y)
}

// power is x ** y: exact for whole numbers with a power of 0 or more, floating point otherwise, and by the value's own
// rule for one that is Powered.
func (g guard) power(x, y starlark.Value) (starlark.Value, error) {
	if p, ok := x.(Powered); ok {
		return p.Power(y)
	}
	a, okx := x.(starlark.Int)
	b, oky := y.(starlark.Int)
	if okx && oky && b.Sign() >= 0 {
		return g.integerPower(a, b)
	}
	fx, okx := starlark.AsFloat(x)
	fy, oky := starlark.AsFloat(y)
	switch {
	case okx && !oky:
		return nil, fmt.Errorf("a power must be a plain number, got %s", y.Type())
	case !okx:
		return nil, fmt.Errorf("unknown binary op: %s ** %s", x.Type(), y.Type())
	case fx == 0 && fy < 0:
		return nil, errors.New("zero to a negative power")
	case fx < 0 && fy != math.Trunc(fy) && !math.IsInf(fx, 0) && !math.IsNaN(fy):
		return nil, fmt.Errorf("%s to the power %s is not a real number", x, y)
	}
	z := math.Pow(fx, fy)
	if math.IsInf(z, 0) && !math.IsInf(fx, 0) && !math.IsInf(fy, 0) {
		return nil, fmt.Errorf("%s to the power %s is too large for a float", shortened(x), shortened(y))
	}
	return starlark.Float(z), nil
}

func (g guard) integerPower(x, y starlark.Int) (starlark.Value, error) {
	size := bitLen(x)
	if size <= 1 { // 0, 1 and -1 stay small whatever the power
		switch {
		case y.Sign() == 0 || x.Sign() > 0:
			return starlark.MakeInt(1), nil
		case x.Sign() == 0:
			return x, nil
		}
		odd := y.BigInt().Bit(0) == 1
		if odd {
			return x, nil
		}
		return starlark.MakeInt(1), nil
	}
	k, ok := y.Int64()
	if !ok || k > int64(g.IntegerBits/size) {
		return nil, overLimit("%s ** %s is a whole number of more than %d bits: write 2.0 for 2 to count in floats",
			shortened(x), shortened(y), g.IntegerBits)
	}
	return starlark.MakeBigInt(new(big.Int).Exp(x.BigInt(), big.NewInt(k), nil)), nil
}

// shortened is the text of a value, fit for a message.
func shortened(v starlark.Value) string { return shorten(Text(v, 200)) }

// shorten keeps a value's text fit for a message.
func shorten(s string) string { return Shorten(s, 57) }

// Shorten returns a text, where it has more than so many characters and a few those and three points. It looks at no
// more of it.
func Shorten(s string, most int) string {
	const points = "..."
	n, end := 0, 0
	for i := range s {
		if n == most {
			end = i
		}
		if n++; n > most+len(points) {
			return s[:end] + points
		}
	}
	return s
}
