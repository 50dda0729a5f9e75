package compose

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
)

// minus is the sign that numbers on a page carry.
const minus = "−"

// fixed prints v with a number of decimals, without a negative zero.
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", minus, 1)
}

// signed is fixed with a plus sign on what is positive.
func signed(v float64, decimals int) string {
	s := fixed(v, decimals)
	if v > 0 && strings.Trim(s, "0.") != "" {
		s = "+" + s
	}
	return s
}

// decimals returns how many decimals show two significant digits of an uncertainty, within 0 and most.
func decimals(u float64, most int) int {
	if !(u > 0) || math.IsInf(u, 0) {
		return min(2, most)
	}
	return min(max(1-int(math.Floor(math.Log10(u))), 0), most)
}

func nm(l quantity.Length) string { return compact(float64(l / quantity.Nanometre)) }

func celsius(t quantity.Temperature) string { return compact(t.Celsius()) + " °C" }

// compact prints up to six significant digits and no trailing zeros.
func compact(v float64) string {
	return strings.Replace(strconv.FormatFloat(rounded(v), 'f', -1, 64), "-", minus, 1)
}

func rounded(v float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	if err != nil {
		return v
	}
	return r
}

// where words the band and temperatures of a limit.
func where(l limits.Limit) string {
	t := celsius(l.TemperatureLow)
	if l.TemperatureHigh != l.TemperatureLow {
		t = compact(l.TemperatureLow.Celsius()) + " to " + celsius(l.TemperatureHigh)
	}
	return fmt.Sprintf("%s to %s nm, %s", nm(l.Low), nm(l.High), t)
}

// named words a limited quantity as the trade does.
func named(q string) string {
	switch q {
	case limits.Isolation:
		return "isolation"
	case limits.InsertionLoss:
		return "insertion loss"
	case limits.PDL:
		return "PDL"
	}
	return q
}

func rule(l limits.Limit) string {
	if l.AtLeast {
		return "≥ " + fixed(l.Value, 2)
	}
	return "≤ " + fixed(l.Value, 2)
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
