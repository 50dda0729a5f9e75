package vocab

import (
	"fmt"
	"math"
	"math/big"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "pow",
	Summary: "x to the power y, as x**y",
	Params: []Param{
		{Name: "x", Kind: valueKind, Doc: "a number, a quantity or a series"},
		{Name: "y", Kind: numberKind, Doc: "the exponent; for a quantity, a whole number from -8 to 8, or 0.5"},
	},
	Returns: "a number, a quantity or a series",
	Errors:  "a whole result has more than 65536 bits, or the exponent of a quantity is not allowed",
	Example: "pow(3*mm, 2)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		x, y := a.Get("x"), a.Get("y")
		if base, ok := x.(starlark.Int); ok {
			if n, ok := y.(starlark.Int); ok && n.Sign() >= 0 {
				return wholePower(base, n)
			}
		}
		return each(x, func(q quantity.Quantity) (quantity.Quantity, error) {
			r, err := power(q, y)
			if err == nil && math.IsNaN(r.Value) && !math.IsNaN(q.Value) {
				err = fmt.Errorf("%s to the power %s has no real value", q, y)
			}
			return r, err
		})
	},
})

// mostBits bounds a whole result: anything longer is a slip, and would take the machine with it.
const mostBits = 1 << 16

func wholePower(base, n starlark.Int) (starlark.Value, error) {
	k, small := n.Int64()
	if bits := int64(base.BigInt().BitLen()); bits > 1 && (!small || k > mostBits/bits) {
		return nil, fmt.Errorf("%s to the power %s is too large for a whole number: write a decimal point",
			shorten(base.String()), shorten(n.String()))
	}
	if !small { // the base is -1, 0 or 1
		k = 2 + int64(n.BigInt().Bit(0))
	}
	return starlark.MakeBigInt(new(big.Int).Exp(base.BigInt(), big.NewInt(k), nil)), nil
}
