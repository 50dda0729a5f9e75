package compose

import (
	"strconv"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/record"
)

// The document prints numbers as the record holds them: rounded once, so that the two cannot disagree.

// tie is a space at which no line is broken.
const tie = "\u00A0"

// between words an interval, for a table whose lines must not break in it.
func between(low, high record.Number) string { return num(low) + tie + "to" + tie + num(high) }

// minus is the sign that numbers on a page carry.
const minus = "−"

// num is a number of the record on a page.
func num(n record.Number) string { return strings.Replace(string(n), "-", minus, 1) }

// orNone is num, with a word for a figure that there is none of.
func orNone(n record.Number) string { return orElse(n, "none") }

// orElse is num, with something else for a figure that there is none of.
func orElse(n record.Number, other string) string {
	if n == "" {
		return other
	}
	return num(n)
}

// signed is num with a plus sign on what is positive.
func signed(n record.Number) string {
	if n != "" && n.Float() > 0 {
		return "+" + string(n)
	}
	return num(n)
}

func nm(l quantity.Length) string { return compact(float64(l / quantity.Nanometre)) }

func celsius(t quantity.Temperature) string { return compact(t.Celsius()) + " °C" }

// compact prints up to six significant digits and no trailing zeros: axes and conditions, not results.
func compact(v float64) string {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	if err != nil {
		r = v
	}
	return strings.Replace(strconv.FormatFloat(r, 'f', -1, 64), "-", minus, 1)
}

// plainName words a name of the vocabulary as the trade does.
func plainName(name string) string {
	if name == "pdl" {
		return "PDL"
	}
	return strings.ReplaceAll(name, "_", " ")
}

func columns(heads ...string) []document.Column {
	c := make([]document.Column, len(heads))
	for i, h := range heads {
		c[i].Head = strings.TrimPrefix(h, ">")
		if strings.HasPrefix(h, ">") {
			c[i].Align = document.Right
		}
	}
	return c
}
