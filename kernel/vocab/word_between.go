package vocab

import (
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
)

// endKind is an end of a slider.
var endKind = Kind{"a quantity or a number such as 3*deg", "", func(v starlark.Value) (bool, string) {
	q, ok := toQuantity(v)
	if !ok {
		return false, ""
	}
	return finite(q.Value)
}}

var _ = Register(Word{
	Name:    "between",
	Summary: "values from one end to another, for a slider of explore()",
	Params: []Param{
		{Name: "low", Kind: endKind, Doc: "the lower end"},
		{Name: "high", Kind: endKind, Doc: "the upper end, of the same dimension"},
		{Name: "value", Kind: endKind.of("quantity or number", "5*deg"), Optional: true,
			Doc: "where the slider begins; default: what the function or the stack has, otherwise the middle"},
		{Name: "step", Kind: endKind.of("quantity or number", "0.1*deg"), Mode: Keyword, Optional: true,
			Doc: "distance of two values; default: 1 for whole numbers, otherwise 1, 2 or 5 times a power of ten, at " +
				"least 100 steps in all"},
	},
	Returns: "values for explore() to choose from",
	Errors:  "the ends are of different dimensions or not in rising order, or the value is outside them",
	Example: "between(3*deg, 8*deg)",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		return between(t, a)
	},
})

func between(t *starlark.Thread, a Args) (*Between, error) {
	lo, hi := a.Quantity("low"), a.Quantity("high")
	if lo.Dimension() != hi.Dimension() || lo.Absolute() != hi.Absolute() {
		return nil, fmt.Errorf("low is %s, %s, and high is %s, %s: give both ends in the same dimension", lo,
			article(noun(lo)), hi, article(noun(hi)))
	}
	upper, err := hi.In(lo.Unit)
	if err != nil {
		return nil, err
	}
	upper.Value = significant(upper.Value, 12)
	if upper.Value <= lo.Value {
		return nil, fmt.Errorf("high must be above low, got %s and %s", lo, hi)
	}
	b := &Between{opaque: opaque{"between"}, lo: lo, hi: upper, step: lo}
	b.whole = a.Get("low").Type() == "int" && a.Get("high").Type() == "int" &&
		(!a.Has("step") || a.Get("step").Type() == "int") && (!a.Has("value") || a.Get("value").Type() == "int")
	width := upper.Value - lo.Value
	b.step.Value = niceStep(width)
	if b.whole {
		b.step.Value = 1
	}
	if a.Has("step") {
		if b.step.Value, err = stepIn(a.Quantity("step"), lo, width); err != nil {
			return nil, err
		}
	}
	b.at = lo
	b.at.Value = significant(lo.Value+b.step.Value*math.Round(width/2/b.step.Value), 12)
	if !a.Has("value") {
		return b, nil
	}
	with, err := b.starting(session.LookOf(t), a.Get("value"))
	if err != nil {
		return nil, err
	}
	return with.(*Between), nil
}

// stepIn is a step in the unit of the ends of a slider. A step of temperatures is in kelvin, and one of levels in dBm
// in dB.
func stepIn(step, lo quantity.Quantity, width float64) (float64, error) {
	next, err := quantity.Add(lo, step)
	if err != nil {
		return 0, fmt.Errorf("step: %w", err)
	}
	x := significant(next.Value-lo.Value, 12)
	if x <= 0 || x > width {
		return 0, fmt.Errorf("step must be above zero and at most the width of the range, got %s", step)
	}
	return x, nil
}
