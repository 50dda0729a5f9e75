package vocab

import (
	"go.starlark.net/starlark"
)

var _ = Register(Word{
	Name:    "format",
	Summary: "text of a value with a fixed number of decimals, in any unit",
	Params: []Param{
		{Name: "value", Kind: valueKind, Doc: "a number or a quantity"},
		{Name: "digits", Kind: wholeKind, Default: starlark.MakeInt(2), Doc: "decimals, 0 to 15"},
		{Name: "unit", Kind: unitKind, Optional: true, Doc: "the unit; default: the unit of the value"},
	},
	Returns: "a text",
	Errors:  "the unit has another dimension",
	Example: "format(34.7041*dB, 2, dB)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		q, ok := toQuantity(a.Get("value"))
		if !ok {
			return nil, a.refuse("value", "one number or quantity")
		}
		digits, err := a.whole("digits", 0, 15)
		if err != nil {
			return nil, err
		}
		s, err := text(q, digits, a.Get("unit"))
		if err != nil {
			return nil, err
		}
		return starlark.String(s), nil
	},
})
