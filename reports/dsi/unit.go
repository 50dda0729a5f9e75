package dsi

import (
	"fmt"
	"strings"
)

// names are the units of the records in D-SI, which writes them with the identifiers of the SI brochure after a
// backslash, prefix before unit.
//
// Sources: the list of identifiers of D-SI (PTB, repository xsd-d-si, wiki/doc/UnitSystem.md) for metre, second,
// kelvin, degree, arcminute, radian, tesla, watt, hertz and one; percent and decibel as users of D-SI 2.2 write them;
// the prefixes as in the SI brochure, 9th edition, table 7.
var names = map[string]string{
	"": `\one`, "%": `\percent`, "dB": `\decibel`,
	"nm": `\nano\metre`, "µm": `\micro\metre`, "um": `\micro\metre`, "mm": `\milli\metre`, "cm": `\centi\metre`,
	"m": `\metre`, "km": `\kilo\metre`,
	"deg": `\degree`, "°": `\degree`, "mrad": `\milli\radian`, "rad": `\radian`, "arcmin": `\arcminute`,
	"°C": `\degreecelsius`, "degC": `\degreecelsius`, "K": `\kelvin`, "kelvin": `\kelvin`,
	"T": `\tesla`, "mT": `\milli\tesla`,
	"fs": `\femto\second`, "ps": `\pico\second`, "ns": `\nano\second`, "s": `\second`,
	"W": `\watt`, "mW": `\milli\watt`, "µW": `\micro\watt`, "uW": `\micro\watt`, "nW": `\nano\watt`,
	"Hz": `\hertz`, "kHz": `\kilo\hertz`, "MHz": `\mega\hertz`, "GHz": `\giga\hertz`, "THz": `\tera\hertz`,
}

// Unit returns a unit of a record in D-SI: "deg/nm" becomes \degree\nano\metre\tothe{-1}. One that D-SI has no
// identifier for, such as dBm, is an error.
func Unit(symbol string) (string, error) {
	if whole, ok := names[symbol]; ok {
		return whole, nil
	}
	above, below, _ := strings.Cut(symbol, "/")
	out := ""
	for sign, product := range map[string]string{"": above, "-": below} {
		part, err := factors(product, sign)
		if err != nil {
			return "", fmt.Errorf("unit %q: %w", symbol, err)
		}
		if sign == "" {
			out = part + out
		} else {
			out += part
		}
	}
	if out == "" {
		return "", fmt.Errorf("unit %q: found nothing that it is made of", symbol)
	}
	return out, nil
}

// powers are exponents as units are printed with.
var powers = []struct{ sign, n string }{{"²", "2"}, {"³", "3"}, {"^2", "2"}, {"^3", "3"}}

// factors writes a product of units, each to a power with the sign given.
func factors(product, sign string) (string, error) {
	out := ""
	for _, part := range strings.FieldsFunc(product, func(r rune) bool { return strings.ContainsRune(" ·()", r) }) {
		if part == "1" {
			continue
		}
		name, power := part, "1"
		for _, p := range powers {
			if bare, ok := strings.CutSuffix(part, p.sign); ok {
				name, power = bare, p.n
			}
		}
		unit, ok := names[name]
		if !ok || name == "" {
			return "", fmt.Errorf("found no identifier of D-SI for %q", name)
		}
		out += unit
		if sign != "" || power != "1" {
			out += `\tothe{` + sign + power + "}"
		}
	}
	return out, nil
}
