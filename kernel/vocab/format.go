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

// byDefault shows a quantity at the end of a cell: levels as a report does, to a hundredth of a decibel, anything else
// with seven significant digits, as a wavelength needs that is known to a picometre. One with fewer digits is shown as
// it is; .value and str() give all digits.
func byDefault(q quantity.Quantity) string {
	all := q.String()
	shown := quantity.Quantity{Value: significant(q.Value, 7), Unit: q.Unit}.String()
	if q.Dimension() == quantity.OfLevel {
		shown = sensible(q)
	}
	if len(shown) < len(all) {
		return shown
	}
	return all
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
