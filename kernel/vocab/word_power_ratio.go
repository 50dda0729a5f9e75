package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "power_ratio",
	Summary: "power ratio of a level, 10**(level/10)",
	Params:  []Param{{Name: "level", Kind: valueKind, Doc: "a level in dB, or a series"}},
	Returns: "a plain number, or a series",
	Errors:  "the level is not in dB",
	Example: "power_ratio(-3*dB)",
	Source:  "definition of the decibel for power, IEC 60027-3",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		return each(a.Get("level"), func(q quantity.Quantity) (quantity.Quantity, error) {
			if q.Dimension() != quantity.OfLevel || q.Absolute() {
				return q, fmt.Errorf("level must be %s, got %s", levelKind.Want, describe(fromQuantity(q)))
			}
			return quantity.Quantity{Value: quantity.Ratio(q.SI())}, nil
		})
	},
})
