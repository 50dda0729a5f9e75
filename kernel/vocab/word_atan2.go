package vocab

import (
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "atan2",
	Summary: "azimuth of the point (x, y), from −180° to 180°",
	Params: []Param{
		{Name: "y", Kind: valueKind, Doc: "the vertical coordinate, a number or a quantity"},
		{Name: "x", Kind: valueKind, Doc: "the horizontal coordinate, of the same dimension"},
	},
	Returns: "an angle in deg, or a series",
	Errors:  "the coordinates have different dimensions",
	Example: "atan2(1*mm, 1*mm)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		fy, _ := toField(a.Get("y"))
		fx, _ := toField(a.Get("x"))
		s, err := combine(fy, fx, func(y, x quantity.Quantity) (quantity.Quantity, error) {
			if y.Dimension() != x.Dimension() || y.Absolute() || x.Absolute() {
				return y, fmt.Errorf("x and y must have the same dimension, got %s and %s",
					describe(fromQuantity(x)), describe(fromQuantity(y)))
			}
			return quantity.FromSI(math.Atan2(y.SI(), x.SI()), degree), nil
		})
		if err != nil {
			return nil, err
		}
		return s.unwrap(), nil
	},
})
