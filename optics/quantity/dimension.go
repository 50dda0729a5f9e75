// Package quantity gives numbers their units.
//
// In Go signatures the rest of optics uses the defined types Length, Angle, Temperature and so on,
// which are plain SI numbers. The Quantity of this package is for the edges, where a person wrote a
// unit: it keeps the number as written and the unit it was written in, so that 1550 nm prints as
// 1550 nm and not as 1.5500000000000002e-06 m, and it refuses arithmetic that makes no sense.
//
// The base dimensions are the ones the trade measures, not the seven of the SI: flux density and
// optical power are bases of their own because nothing in a cell ever divides a tesla into kilograms,
// and angle and level (decibel) are bases because mixing them with plain numbers is the commonest slip.
package quantity

import (
	"fmt"
	"strings"
)

// The base dimensions, in the order in which a Dimension counts them.
const (
	length = iota
	duration
	temperature
	angle
	fluxDensity
	power
	level
	bases
)

// Dimension holds the exponent of each base dimension. The zero Dimension is that of a plain number.
type Dimension [bases]int8

// The dimensions that the vocabulary asks for by name.
var (
	Plain            = Dimension{}
	OfLength         = Dimension{length: 1}
	OfTime           = Dimension{duration: 1}
	OfFrequency      = Dimension{duration: -1}
	OfTemperature    = Dimension{temperature: 1}
	OfAngle          = Dimension{angle: 1}
	OfFluxDensity    = Dimension{fluxDensity: 1}
	OfPower          = Dimension{power: 1}
	OfLevel          = Dimension{level: 1}
	OfPerLength      = Dimension{length: -1}
	OfPerTemperature = Dimension{temperature: -1}
	OfAnglePerLength = Dimension{angle: 1, length: -1}
	OfAnglePerKelvin = Dimension{angle: 1, temperature: -1}
	OfLevelPerLength = Dimension{level: 1, length: -1}
)

var baseNames = [bases]string{"length", "time", "temperature", "angle", "flux density", "power", "level"}

// shortest lists names for compound dimensions that have one of their own.
var compoundNames = map[Dimension]string{
	Plain:       "plain number",
	OfFrequency: "frequency",
}

// String names the dimension in words, for example "angle per temperature".
func (d Dimension) String() string {
	if s, ok := compoundNames[d]; ok {
		return s
	}
	var over, under []string
	for i, n := range d {
		switch {
		case n > 0:
			over = append(over, baseNames[i]+exponent(n))
		case n < 0:
			under = append(under, baseNames[i]+exponent(-n))
		}
	}
	if len(over) == 0 {
		over = []string{"1"}
	}
	s := strings.Join(over, " ")
	if len(under) > 0 {
		s += " per " + strings.Join(under, " and per ")
	}
	return s
}

func exponent(n int8) string {
	switch n {
	case 1:
		return ""
	case 2:
		return " squared"
	default:
		return fmt.Sprintf(" to the power %d", n)
	}
}

func (d Dimension) times(e Dimension, k int8) Dimension {
	for i := range d {
		d[i] += k * e[i]
	}
	return d
}
