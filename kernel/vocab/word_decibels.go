package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "decibels",
	Summary: "level of a power ratio, 10 log10(ratio)",
	Params:  []Param{{Name: "ratio", Kind: valueKind, Doc: "a plain number or percent above zero, or a series"}},
	Returns: "a level in dB, or a series",
	Errors:  "the ratio is not above zero",
	Example: "decibels(50*percent)",
	Source:  "definition of the decibel for power, IEC 60027-3",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		return each(a.Get("ratio"), func(q quantity.Quantity) (quantity.Quantity, error) {
			if q.Dimension() != quantity.Plain || q.Value <= 0 {
				return q, fmt.Errorf("ratio must be a plain number above zero such as 0.5, got %s",
					describe(fromQuantity(q)))
			}
			return quantity.Of(quantity.Decibels(q.SI()), "dB"), nil
		})
	},
})
