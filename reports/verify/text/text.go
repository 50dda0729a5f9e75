// Package text says in one place how a verification prints numbers, wavelengths, temperatures and the conditions of a
// limit, so that sentences, checks, record and pages cannot print one figure in two ways.
package text

import (
	"math"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/record"
)

// FigureDecimals returns the decimals of a figure in a unit, those of the record.
func FigureDecimals(unit string) int { return record.Decimals(unit) }

// TwoDigits returns how many decimals show two significant digits of u; three where u is none.
func TwoDigits(u float64) int {
	if !(u > 0) || math.IsInf(u, 0) {
		return 3
	}
	return min(max(1-int(math.Floor(math.Log10(u))), 0), 9)
}

// Decimals returns how many to print so that the uncertainty u keeps one digit, or two when the first is
// 1 or 2, which one digit would round too coarsely.
func Decimals(u float64) int {
	if !(u > 0) || math.IsInf(u, 1) {
		return 2
	}
	e := int(math.Floor(math.Log10(u)))
	if u/math.Pow(10, float64(e)) < 2.95 {
		e--
	}
	return min(max(-e, 0), 9)
}

// Number prints a number as the record has it.
func Number(v float64, digits int) string { return string(record.Decimal(v, digits)) }

func Condition(l limits.Limit) string {
	s := Nanometres(l.Low) + ", "
	if l.Low != l.High {
		s = Nanometres(l.Low) + " to " + Nanometres(l.High) + ", "
	}
	if l.TemperatureLow == l.TemperatureHigh {
		return s + Celsius(l.TemperatureLow)
	}
	return s + Celsius(l.TemperatureLow) + " to " + Celsius(l.TemperatureHigh)
}

func Nanometres(l quantity.Length) string {
	return quantity.FromSI(float64(l), quantity.MustNamed("nm")).String()
}

func Celsius(t quantity.Temperature) string {
	return quantity.FromSI(math.Round(float64(t)*100)/100, quantity.MustNamed("degC")).String()
}

func Spoken(q limits.Quantity) string { return q.String() }
