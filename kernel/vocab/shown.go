package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// The units in which SI values of optics are shown.

func inNanometres(l quantity.Length) Quantity   { return shownIn(float64(l), "nm") }
func inMillimetres(l quantity.Length) Quantity  { return shownIn(float64(l), "mm") }
func inCelsius(t quantity.Temperature) Quantity { return shownIn(float64(t), "degC") }
func asPercent(ratio float64) Quantity          { return shownIn(ratio, "percent") }

// shownIn takes off what the way through SI left of rounding.
func shownIn(si float64, unit string) Quantity {
	q := quantity.FromSI(si, quantity.MustNamed(unit))
	q.Value = significant(q.Value, 12)
	return Quantity{q}
}

// mostBrief is how long the text of a value in words may be, in bytes.
const mostBrief = 200

// brief describes a sweep or series in words and shows anything else as it is, of a long value its beginning.
func brief(v starlark.Value) string {
	if b, ok := v.(interface{ brief() string }); ok {
		return b.brief()
	}
	return session.Text(v, mostBrief)
}

// madeOf names the material of a part, "" for one without.
func madeOf(e element.Element) string {
	switch e := e.(type) {
	case element.Wedge:
		return e.Crystal.Name()
	case element.Plate:
		if e.Glass != nil {
			return e.Glass.Name()
		}
		return e.Crystal.Name()
	case element.Retarder:
		return e.Crystal.Name()
	case element.Rotator:
		return e.Garnet.Name
	case element.Rod:
		return e.Material.Name()
	case element.Gap:
		return "air"
	}
	return ""
}
