package vocab

import (
	"math"
	"strconv"

	"wedgework/optics/quantity"
)

// sensible shows a computed quantity to a reader: levels with two decimals, anything else with five
// significant digits, never more than were meant.
func sensible(q quantity.Quantity) string {
	if q.Dimension() == quantity.OfLevel {
		return q.Text(2)
	}
	return quantity.Quantity{Value: significant(q.Value, 5), Unit: q.Unit}.String()
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
