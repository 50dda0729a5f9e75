package text

import (
	"strings"

	"wedgework/optics/quantity"
)

// With prints a number with its unit: "44.406°", "30.00 dB".
func With(number string, u quantity.Unit) string {
	symbol := strings.ReplaceAll(u.Symbol(), "deg", "°")
	if symbol == "" || strings.HasPrefix(symbol, "°") && symbol != "°C" {
		return number + symbol
	}
	return number + " " + symbol
}

// PlusMinus prints a value with its expanded uncertainty: "44.406° ± 0.020°", "(0.35 ± 0.11) dB".
func PlusMinus(value, u float64, digits int, unit quantity.Unit) string {
	v, plusMinus := Number(value, digits), Number(u, digits)
	if With("", unit) == "°" {
		return v + "° ± " + plusMinus + "°"
	}
	return With("("+v+" ± "+plusMinus+")", unit)
}

// Range prints an interval, the unit once: "41.95 to 42.03 dB", "44.40° to 44.50°".
func Range(low, high float64, digits int, unit quantity.Unit) string {
	if With("", unit) == "°" {
		return Number(low, digits) + "° to " + Number(high, digits) + "°"
	}
	return Number(low, digits) + " to " + With(Number(high, digits), unit)
}

// Signed prints a difference with its sign, a plus as well.
func Signed(v float64, digits int) string {
	if s := Number(v, digits); strings.HasPrefix(s, "-") {
		return s
	}
	return "+" + Number(v, digits)
}

// Typed prints a quantity with the digits it was typed with: "45°", "42 dB".
func Typed(q quantity.Quantity) string {
	number, _, _ := strings.Cut(q.String(), " ")
	return With(number, q.Unit)
}

// PValue prints a p-value for a column: "0.023", "< 0.001".
func PValue(p float64) string {
	if p < 0.001 {
		return "< 0.001"
	}
	return Number(p, 3)
}

// Probability prints a p-value in a sentence: "p = 0.023", "p < 0.001".
func Probability(p float64) string {
	if s := PValue(p); s[0] == '<' {
		return "p " + s
	}
	return "p = " + PValue(p)
}
