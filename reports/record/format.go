package record

import (
	"math"
	"strconv"
	"strings"
)

// How numbers are rounded and printed, said once: the record, the pages of a report, the summaries in a notebook and a
// list of changes ask here, so that they cannot print one figure in two ways. The numbers of decimals are choices.

// Decimals returns the decimals of a figure in a unit: two for decibels, since a reading of a power meter is good to
// its second decimal at best; one for nanometres, since a peak's wavelength is known to a few tenths; three for
// anything else.
func Decimals(unit string) int {
	switch unit {
	case "dB":
		return 2
	case "nm":
		return 1
	}
	return 3
}

// Ratio is the decimals of plain numbers: divisors, factors and proportions.
const Ratio = 3

// InUnit returns a figure with the decimals of its unit.
func InUnit(v float64, unit string) Number { return Decimal(v, Decimals(unit)) }

// Probability returns a chance, never nearer to certainty than a model of the errors can be: one in a million (a
// choice).
func Probability(p float64) Number {
	const sure = 1e-6
	return Decimal(min(max(p, sure), 1-sure), 6)
}

// Exact returns a number that somebody stated, with the digits that it needs.
func Exact(v float64) Number {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return Number(strconv.FormatFloat(v, 'f', -1, 64))
}

// Tie is a space at which no line is broken.
const Tie = "\u00A0"

// Minus is the sign of a negative number in print.
const Minus = "−"

// Text is the number in print; "" when there is none.
func (n Number) Text() string { return strings.Replace(string(n), "-", Minus, 1) }

// Or is Text, with something else for a number that there is none of.
func (n Number) Or(other string) string {
	if n == "" {
		return other
	}
	return n.Text()
}

// Signed is Text with a plus sign on what is positive.
func (n Number) Signed() string {
	if n != "" && n.Float() > 0 {
		return "+" + string(n)
	}
	return n.Text()
}

// Abs is the number without its sign.
func (n Number) Abs() Number { return Number(strings.TrimPrefix(string(n), "-")) }

// Between words an interval, for a table whose lines must not break in it.
func Between(low, high Number) string { return low.Text() + Tie + "to" + Tie + high.Text() }

// Percent prints a ratio in percent, with no more digits than it has.
func (n Number) Percent() string { return Condition(100*n.Float()).Text() + Tie + "%" }

// Chance prints a probability in percent without claiming certainty; "" when there is none.
func (n Number) Chance() string {
	if n == "" {
		return ""
	}
	switch v := n.Float(); {
	case v >= 0.9995:
		return ">" + Tie + "99.9" + Tie + "%"
	case v < 0.0005:
		return "<" + Tie + "0.1" + Tie + "%"
	default:
		return Decimal(100*v, 1).Text() + Tie + "%"
	}
}

// PValue prints a p-value, which is never nothing and never certain.
func (n Number) PValue() string {
	switch {
	case n == "":
		return ""
	case n.Float() < 0.0005:
		return "< 0.001"
	case n.Float() >= 0.9995:
		return "> 0.999"
	}
	return Decimal(n.Float(), 3).Text()
}

// Equation is PValue in a sentence: "p = 0.010", "p < 0.001".
func (n Number) Equation(name string) string {
	s := n.PValue()
	if strings.ContainsAny(s, "<>") {
		return name + " " + s
	}
	return name + " = " + s
}

// Condition returns a number of an axis or a condition, not of a result: three decimals at most and no trailing zeros.
func Condition(v float64) Number {
	n := Decimal(v, 3)
	if strings.Contains(string(n), ".") {
		n = Number(strings.TrimRight(strings.TrimRight(string(n), "0"), "."))
	}
	return n
}
