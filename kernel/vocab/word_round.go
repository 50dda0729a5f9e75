package vocab

import (
	"math"
	"strconv"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "round",
	Summary: "rounds a number or quantity to a number of decimals; exact halves go to the even digit",
	Params: []Param{
		{Name: "x", Kind: valueKind, Doc: "the value; a quantity is rounded in its own unit"},
		{Name: "digits", Kind: wholeKind, Default: starlark.MakeInt(0),
			Doc: "decimals to keep, -15 to 15; negative ones round to tens, hundreds, ..."},
	},
	Returns: "a whole number if x is a plain number and digits= is omitted; otherwise a value of the same kind",
	Errors:  "x is not finite and digits= is omitted",
	Example: "round(1549.98673*nm, 2)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		digits, err := a.whole("digits", -15, 15)
		if err != nil {
			return nil, err
		}
		x := a.Get("x")
		if f, ok := x.(starlark.Float); ok && digits == 0 {
			return starlark.NumberToInt(starlark.Float(math.RoundToEven(float64(f))))
		}
		if n, ok := x.(starlark.Int); ok && digits >= 0 {
			return n, nil
		}
		return each(x, func(q quantity.Quantity) (quantity.Quantity, error) {
			return quantity.Quantity{Value: decimals(q.Value, digits), Unit: q.Unit}, nil
		})
	},
})

// decimals rounds the exact value that v stands for, so that 2.675, which lies below itself, becomes
// 2.67, as it does when it is printed with two digits.
func decimals(v float64, digits int) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	if digits < 0 {
		scale := math.Pow(10, float64(-digits))
		return math.RoundToEven(v/scale) * scale
	}
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', digits, 64), 64)
	if err != nil {
		return v // out of range cannot come of rounding
	}
	return r
}
