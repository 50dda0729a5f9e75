package verify

import (
	"math"

	"wedgework/optics/quantity"
)

// How figures are rounded, said once: the sentences of this package, the record and the pages ask here, so that they
// cannot print one figure in two ways. The numbers of decimals are choices.

// FigureDecimals returns the decimals of a figure in a unit: two for decibels, since a reading of a power meter is
// good to its second decimal at best; one for nanometres, since a peak's wavelength is known to a few tenths;
// three for anything else.
func FigureDecimals(unit string) int {
	switch unit {
	case "dB":
		return 2
	case "nm":
		return 1
	}
	return 3
}

// Decimals returns the decimals of a fitted parameter and all that is printed beside it: those of a figure for
// decibels, and otherwise as many as show its expanded uncertainty with two significant digits.
func (d Departure) Decimals() int {
	if d.Unit == quantity.MustNamed("dB") {
		return FigureDecimals("dB")
	}
	return twoDigits(d.U)
}

// ToleranceDecimals returns the decimals of the parameter's tolerance: one at least, and more for a fine one.
func (d Departure) ToleranceDecimals() int { return max(decimals(d.Tolerance), 1) }

// twoDigits returns how many decimals show two significant digits of u; three where u is none.
func twoDigits(u float64) int {
	if !(u > 0) || math.IsInf(u, 0) {
		return 3
	}
	return min(max(1-int(math.Floor(math.Log10(u))), 0), 9)
}
