package compose

import (
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/record"
)

// The document prints numbers as the record holds them: rounded once, so that the two cannot disagree.

func celsius(t quantity.Temperature) string { return record.Condition(t.Celsius()).Text() + " °C" }

// plainName words a name of the vocabulary as the trade does.
func plainName(name string) string {
	return limits.Quantity(name).String()
}

// unitText is a unit of measurement in print.
func unitText(unit string) string {
	if unit == "deg" || strings.HasPrefix(unit, "deg/") {
		return "°" + strings.TrimPrefix(unit, "deg")
	}
	return unit
}

// labelled is a name with its unit.
func labelled(name, unit string) string {
	if unit == "" {
		return name
	}
	return name + " (" + unitText(unit) + ")"
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
