package verify

import (
	"math"
	"strconv"
	"strings"
	"wedgework/optics/quantity"
	"wedgework/reports/limits"
)

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

// twoDigits returns how many decimals show two significant digits of u; three where u is none.
func twoDigits(u float64) int {
	if !(u > 0) || math.IsInf(u, 0) {
		return 3
	}
	return min(max(1-int(math.Floor(math.Log10(u))), 0), 9)
}

// decimals returns how many to print so that the uncertainty u keeps one digit, or two when the first is
// 1 or 2, which one digit would round too coarsely.
func decimals(u float64) int {
	if !(u > 0) || math.IsInf(u, 1) {
		return 2
	}
	e := int(math.Floor(math.Log10(u)))
	if u/math.Pow(10, float64(e)) < 2.95 {
		e--
	}
	return min(max(-e, 0), 9)
}

func number(v float64, digits int) string {
	s := strconv.FormatFloat(v, 'f', digits, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

func condition(l limits.Limit) string {
	s := nanometres(l.Low) + ", "
	if l.Low != l.High {
		s = nanometres(l.Low) + " to " + nanometres(l.High) + ", "
	}
	if l.TemperatureLow == l.TemperatureHigh {
		return s + celsius(l.TemperatureLow)
	}
	return s + celsius(l.TemperatureLow) + " to " + celsius(l.TemperatureHigh)
}

func nanometres(l quantity.Length) string {
	return quantity.FromSI(float64(l), quantity.MustNamed("nm")).String()
}

func celsius(t quantity.Temperature) string {
	return quantity.FromSI(math.Round(float64(t)*100)/100, quantity.MustNamed("degC")).String()
}

func spoken(q string) string {
	if q == limits.PDL {
		return "PDL"
	}
	return strings.ReplaceAll(q, "_", " ")
}
