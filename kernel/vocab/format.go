package vocab

import (
	"math"
	"strconv"

	"wedgework/optics/quantity"
)

// sensible shows a computed quantity to a reader: levels to a hundredth of a decibel, below one to a
// thousandth, anything else with five significant digits.
func sensible(q quantity.Quantity) string {
	if q.Dimension() == quantity.OfLevel {
		return q.Text(levelDigits(q.Value))
	}
	return quantity.Quantity{Value: significant(q.Value, 5), Unit: q.Unit}.String()
}

func levelDigits(v float64) int {
	if math.Abs(v) < 1 {
		return 3
	}
	return 2
}

// written shows a quantity that somebody wrote, as it was, but for what the way through SI left of
// rounding.
func written(q quantity.Quantity) string {
	return quantity.Quantity{Value: significant(q.Value, 9), Unit: q.Unit}.String()
}

func significant(v float64, digits int) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
	if err != nil {
		return v
	}
	return r
}
