package vocab

import (
	"fmt"
	"math"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"wedgework/optics/quantity"
)

// plain returns the value of a Starlark number.
func plain(v starlark.Value) (float64, bool) {
	switch v := v.(type) {
	case starlark.Float:
		return float64(v), true
	case starlark.Int:
		return float64(v.Float()), true
	}
	return 0, false
}

// toQuantity returns a number or quantity of a cell as a quantity.
func toQuantity(v starlark.Value) (quantity.Quantity, bool) {
	if q, ok := v.(Quantity); ok {
		return q.Quantity, true
	}
	x, ok := plain(v)
	return quantity.Quantity{Value: x}, ok
}

// fromQuantity is the value a cell sees: a plain number where no unit is left.
func fromQuantity(q quantity.Quantity) starlark.Value {
	if q.Unit == (quantity.Unit{}) {
		return starlark.Float(q.Value)
	}
	return Quantity{q}
}

// convert returns q in another unit. A difference in kelvin does not become a temperature: in a cell it
// would be a slip far more often than a thermodynamic temperature. What the conversion leaves of rounding
// beyond fifteen digits is taken off, so that 1.55 um is 1550 nm and not 1549.9999999999998.
func convert(q quantity.Quantity, u quantity.Unit) (quantity.Quantity, error) {
	if to := quantity.Attach(0, u); to.Absolute() && to.Dimension() == quantity.OfTemperature && !q.Absolute() &&
		q.Dimension() == quantity.OfTemperature {
		return q, fmt.Errorf("%s is a temperature difference and cannot be converted to degC: add it to a "+
			"temperature, as in 0*degC + %s", q, spelled(Quantity{q}))
	}
	r, err := q.In(u)
	if err != nil || q.Unit == u {
		return r, err
	}
	r.Value = significant(r.Value, 15)
	return r, nil
}

// arithmetic is one operator on two quantities. Errors are quantity's own, which name both operands.
func arithmetic(op syntax.Token, x, y quantity.Quantity) (quantity.Quantity, error) {
	switch op {
	case syntax.PLUS:
		return quantity.Add(x, y)
	case syntax.MINUS:
		return quantity.Sub(x, y)
	case syntax.STAR:
		return quantity.Mul(x, y)
	case syntax.SLASH:
		r, err := quantity.Div(x, y)
		if err == nil && x.Unit == y.Unit {
			r.Value = x.Value / y.Value // not by way of SI, which costs a rounding: 1550 nm / nm is 1550
		}
		return r, err
	case syntax.SLASHSLASH, syntax.PERCENT:
		return wholeDivision(op, x, y)
	}
	return quantity.Quantity{}, fmt.Errorf("quantities have no operator %s", op)
}

// wholeDivision is // and %: how many times y fits into x, and what is left over in the unit of x. As
// elsewhere in Starlark the remainder has the sign of the divisor.
func wholeDivision(op syntax.Token, x, y quantity.Quantity) (quantity.Quantity, error) {
	if x.Dimension() != y.Dimension() {
		return quantity.Quantity{}, fmt.Errorf("cannot compute %s // %s: their dimensions differ", x, y)
	}
	ratio, err := quantity.Div(x, y)
	if err != nil {
		return quantity.Quantity{}, err
	}
	// In the unit of x, so that 10 nm % 3 nm is exactly 1 nm.
	step, err := y.In(x.Unit)
	if err != nil {
		return quantity.Quantity{}, err
	}
	n := math.Floor(ratio.SI())
	if op == syntax.SLASHSLASH {
		return quantity.Quantity{Value: n}, nil
	}
	return quantity.Quantity{Value: x.Value - n*step.Value, Unit: x.Unit}, nil
}

// operate evaluates x op y for any mix of numbers, quantities, sweeps and series. It returns nil, nil
// for operands it does not know, as Starlark's Binary wants.
func operate(op syntax.Token, x, y starlark.Value) (starlark.Value, error) {
	switch op {
	case syntax.PLUS, syntax.MINUS, syntax.STAR, syntax.SLASH, syntax.SLASHSLASH, syntax.PERCENT:
	default:
		return nil, nil
	}
	p, okx := toQuantity(x)
	q, oky := toQuantity(y)
	if okx && oky {
		r, err := arithmetic(op, p, q)
		if err != nil {
			return nil, err
		}
		return fromQuantity(r), nil
	}
	f, okx := toField(x)
	g, oky := toField(y)
	if !okx || !oky {
		return nil, nil
	}
	r, err := combine(f, g, func(a, b quantity.Quantity) (quantity.Quantity, error) { return arithmetic(op, a, b) })
	if err != nil {
		return nil, err
	}
	return r, nil
}

// flip calls operate with the receiver on its own side.
func flip(op syntax.Token, x, y starlark.Value, side starlark.Side) (starlark.Value, error) {
	if side == starlark.Right {
		x, y = y, x
	}
	return operate(op, x, y)
}

// unary evaluates +x and -x.
func unary(op syntax.Token, x starlark.Value) (starlark.Value, error) {
	switch op {
	case syntax.PLUS:
		return x, nil
	case syntax.MINUS:
		return each(x, quantity.Quantity.Neg)
	}
	return nil, nil
}

// each applies a function of one quantity to a number, a quantity, or every value of a sweep or series.
func each(x starlark.Value, f func(quantity.Quantity) (quantity.Quantity, error)) (starlark.Value, error) {
	if q, ok := toQuantity(x); ok {
		r, err := f(q)
		if err != nil {
			return nil, err
		}
		return fromQuantity(r), nil
	}
	field, ok := toField(x)
	if !ok {
		return nil, fmt.Errorf("needs a number, a quantity, a sweep or a series, got %s", describe(x))
	}
	r, err := combine(field, field, func(a, _ quantity.Quantity) (quantity.Quantity, error) { return f(a) })
	if err != nil {
		return nil, err
	}
	return r, nil
}

// power is x ** y. A quantity takes whole powers, and one half where its dimension is even.
func power(x quantity.Quantity, y starlark.Value) (quantity.Quantity, error) {
	n, ok := plain(y)
	if !ok {
		return quantity.Quantity{}, fmt.Errorf("the exponent of %s must be a plain number such as 2, got %s", x,
			describe(y))
	}
	switch {
	case x.Unit == quantity.Unit{}:
		return quantity.Quantity{Value: math.Pow(x.Value, n)}, nil
	case n == math.Trunc(n) && math.Abs(n) <= 8:
		return x.Pow(int(n))
	case n == 0.5:
		return x.Sqrt()
	}
	return quantity.Quantity{}, fmt.Errorf("the exponent of %s must be a whole number from -8 to 8, or 0.5, got %v", x,
		n)
}
