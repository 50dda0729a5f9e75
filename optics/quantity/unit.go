package quantity

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// kind tells how numbers in a unit may be combined.
type kind uint8

const (
	linear   kind = iota // ordinary: adds to its like, multiplies with anything
	affine               // a point on the Celsius scale: the difference of two is in kelvin
	absolute             // a level referred to a power (dBm): the difference of two is in dB
)

// terms is how many different named units one compound unit may hold.
const terms = 4

type term struct {
	index int8 // into units, plus one; 0 marks an unused term
	power int8
}

// Unit is a named unit or a product of powers of named units. Units are comparable values; the zero
// Unit is that of a plain number.
type Unit struct {
	terms [terms]term
}

type named struct {
	name   string // as cells spell it
	symbol string // as reports print it
	scale  float64
	over   float64 // when not 0, scale is 1/over and conversion divides: exact for powers of ten
	dim    Dimension
	kind   kind
}

// units is the table of everything a cell may write after a number. No one-letter names: cells use s,
// m and w as names.
var units = []named{
	{name: "nm", symbol: "nm", over: 1e9, dim: OfLength},
	{name: "um", symbol: "µm", over: 1e6, dim: OfLength},
	{name: "mm", symbol: "mm", over: 1e3, dim: OfLength},
	{name: "cm", symbol: "cm", over: 1e2, dim: OfLength},
	{name: "metre", symbol: "m", scale: 1, dim: OfLength},
	{name: "deg", symbol: "deg", scale: math.Pi / 180, dim: OfAngle},
	{name: "mrad", symbol: "mrad", over: 1e3, dim: OfAngle},
	{name: "rad", symbol: "rad", scale: 1, dim: OfAngle},
	{name: "arcmin", symbol: "arcmin", scale: math.Pi / 10800, dim: OfAngle},
	{name: "degC", symbol: "°C", scale: 1, dim: OfTemperature, kind: affine},
	{name: "kelvin", symbol: "K", scale: 1, dim: OfTemperature},
	{name: "mT", symbol: "mT", over: 1e3, dim: OfFluxDensity},
	{name: "tesla", symbol: "T", scale: 1, dim: OfFluxDensity},
	{name: "fs", symbol: "fs", over: 1e15, dim: OfTime},
	{name: "ps", symbol: "ps", over: 1e12, dim: OfTime},
	{name: "ns", symbol: "ns", over: 1e9, dim: OfTime},
	{name: "second", symbol: "s", scale: 1, dim: OfTime},
	{name: "GHz", symbol: "GHz", scale: 1e9, dim: OfFrequency},
	{name: "THz", symbol: "THz", scale: 1e12, dim: OfFrequency},
	{name: "dB", symbol: "dB", scale: 1, dim: OfLevel},
	{name: "dBm", symbol: "dBm", scale: 1, dim: OfLevel, kind: absolute},
	{name: "nW", symbol: "nW", over: 1e9, dim: OfPower},
	{name: "uW", symbol: "µW", over: 1e6, dim: OfPower},
	{name: "mW", symbol: "mW", over: 1e3, dim: OfPower},
	{name: "watt", symbol: "W", scale: 1, dim: OfPower},
	{name: "percent", symbol: "%", over: 1e2, dim: Plain},
}

// Named returns the unit that cells spell name.
func Named(name string) (Unit, bool) {
	i := slices.IndexFunc(units, func(u named) bool { return u.name == name })
	if i < 0 {
		return Unit{}, false
	}
	return Unit{terms: [terms]term{{int8(i + 1), 1}}}, true
}

// MustNamed is Named for names written in the program's own source; it panics on an unknown one.
func MustNamed(name string) Unit {
	u, ok := Named(name)
	if !ok {
		panic("quantity: unknown unit " + name)
	}
	return u
}

// Names lists the units as cells spell them, in the order of the table: lengths, angles, ...
func Names() []string {
	s := make([]string, len(units))
	for i, u := range units {
		s[i] = u.name
	}
	return s
}

// Dimension returns the dimension of the unit.
func (u Unit) Dimension() Dimension {
	var d Dimension
	for _, t := range u.terms {
		if t.index > 0 {
			d = d.times(units[t.index-1].dim, t.power)
		}
	}
	return d
}

// kind of a compound unit is linear: only a unit standing alone with power one keeps its own.
func (u Unit) kind() kind {
	if u.terms[0].index > 0 && u.terms[0].power == 1 && u.terms[1].index == 0 {
		return units[u.terms[0].index-1].kind
	}
	return linear
}

// toSI converts a number in the unit to SI. Powers of ten are divided out, so that 1550 nm becomes the
// float64 nearest to 1550e-9 and not its neighbour.
func (u Unit) toSI(v float64) float64 {
	if u.kind() == affine {
		return v + zeroCelsius
	}
	for _, t := range u.terms {
		if t.index == 0 {
			continue
		}
		n := units[t.index-1]
		for k := t.power; k > 0; k-- {
			v = n.up(v)
		}
		for k := t.power; k < 0; k++ {
			v = n.down(v)
		}
	}
	return v
}

// fromSI is the inverse of toSI.
func (u Unit) fromSI(v float64) float64 {
	if u.kind() == affine {
		return v - zeroCelsius
	}
	for _, t := range u.terms {
		if t.index == 0 {
			continue
		}
		n := units[t.index-1]
		for k := t.power; k > 0; k-- {
			v = n.down(v)
		}
		for k := t.power; k < 0; k++ {
			v = n.up(v)
		}
	}
	return v
}

func (n named) up(v float64) float64 {
	if n.over != 0 {
		return v / n.over
	}
	return v * n.scale
}

func (n named) down(v float64) float64 {
	if n.over != 0 {
		return v * n.over
	}
	return v / n.scale
}

// times returns u v^k; ok is false when the product holds more than four different units.
func (u Unit) times(v Unit, k int8) (w Unit, ok bool) {
	w = u
	for _, t := range v.terms {
		if t.index == 0 {
			continue
		}
		t.power *= k
		at := slices.IndexFunc(w.terms[:], func(x term) bool { return x.index == t.index || x.index == 0 })
		if at < 0 {
			return Unit{}, false
		}
		w.terms[at] = term{t.index, w.terms[at].power + t.power}
		if w.terms[at].power == 0 {
			copy(w.terms[at:], w.terms[at+1:])
			w.terms[terms-1] = term{}
		}
	}
	return w, true
}

// Symbol prints the unit as a report shows it: "nm", "deg/K", "°C", "1/cm"; "" for a plain number.
func (u Unit) Symbol() string { return u.join(func(n named) string { return n.symbol }) }

// Name prints the unit as a cell would write it: "deg/kelvin".
func (u Unit) Name() string { return u.join(func(n named) string { return n.name }) }

func (u Unit) join(spell func(named) string) string {
	var over, under []string
	for _, t := range u.terms {
		if t.index == 0 {
			continue
		}
		s := spell(units[t.index-1])
		p := max(t.power, -t.power)
		if p > 1 {
			s += fmt.Sprintf("^%d", p)
		}
		if t.power > 0 {
			over = append(over, s)
		} else {
			under = append(under, s)
		}
	}
	s := strings.Join(over, " ")
	if s == "" && len(under) > 0 {
		s = "1"
	}
	for _, d := range under {
		s += "/" + d
	}
	return s
}
