package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Quantity is a number with the unit it was written in. It is a value: comparable, never changed in
// place. Two ways of writing one length are different Quantities with the same SI value; use Compare
// to ask whether they are equal.
type Quantity struct {
	Value float64 // in Unit
	Unit  Unit
}

// Of returns v in the named unit, for use in the program's own source; it panics on an unknown name.
func Of(v float64, unit string) Quantity { return Quantity{v, MustNamed(unit)} }

// FromSI returns the quantity whose SI value is v, shown in unit u.
func FromSI(v float64, u Unit) Quantity { return Quantity{u.fromSI(v), u} }

// SI returns the value in SI units: metres, radians, kelvin, ... A level is in dB, a dBm level in dBm.
func (q Quantity) SI() float64 { return q.Unit.toSI(q.Value) }

// Dimension returns the dimension of the quantity.
func (q Quantity) Dimension() Dimension { return q.Unit.Dimension() }

// Absolute reports whether q is a point on a scale with a zero of its own, degC or dBm, rather than
// an amount.
func (q Quantity) Absolute() bool { return q.Unit.kind() != linear }

// In returns the quantity expressed in u. A temperature in degC converts to kelvin and back as a
// thermodynamic temperature, a power to dBm and back; a difference in kelvin does not become degC.
func (q Quantity) In(u Unit) (Quantity, error) {
	from, to := q.Unit.kind(), u.kind()
	milli := Of(1, "mW").SI()
	switch {
	case from == absolute && u.Dimension() == OfPower:
		return FromSI(Ratio(q.Value)*milli, u), nil
	case to == absolute && q.Dimension() == OfPower:
		return Quantity{Decibels(q.SI() / milli), u}, nil
	case q.Dimension() != u.Dimension():
		return Quantity{}, fmt.Errorf("%s is %s, not %s", q, Article(q.what()), Article(u.Dimension().String()))
	case from == absolute != (to == absolute):
		return Quantity{}, fmt.Errorf("%s cannot become %s: a level in dBm is a power, a level in dB a ratio", q,
			u.Symbol())
	case to == affine && from != affine && q.Unit.terms[1].index != 0:
		return Quantity{}, fmt.Errorf("%s cannot become %s", q, u.Symbol())
	}
	if q.Unit == u {
		return q, nil
	}
	return FromSI(q.SI(), u), nil
}

// Add returns a + b in the unit of a. Amounts add to their like; a difference in kelvin may be added to
// a temperature in degC, and dB to dBm; two degC or two dBm do not add.
func Add(a, b Quantity) (Quantity, error) {
	ka, kb := a.Unit.kind(), b.Unit.kind()
	switch {
	case a.Dimension() != b.Dimension():
		return Quantity{}, mismatch("add", a, b)
	case ka == linear && kb == linear && a.Unit == b.Unit:
		return Quantity{a.Value + b.Value, a.Unit}, nil
	case ka == linear && kb == linear:
		return Quantity{a.Value + a.Unit.fromSI(b.SI()), a.Unit}, nil
	case ka != linear && kb == linear:
		return Quantity{a.Value + b.SI(), a.Unit}, nil
	case ka == linear && kb != linear:
		return Quantity{b.Value + a.SI(), b.Unit}, nil
	}
	return Quantity{}, fmt.Errorf("cannot add %s to %s: both are points on a scale%s", a, b, difference(a.Unit))
}

// Sub returns a - b in the unit of a; the difference of two temperatures in degC is in kelvin, that of
// two levels in dBm in dB.
func Sub(a, b Quantity) (Quantity, error) {
	ka, kb := a.Unit.kind(), b.Unit.kind()
	switch {
	case a.Dimension() != b.Dimension():
		return Quantity{}, mismatch("subtract", b, a)
	case ka != linear && ka == kb:
		return Quantity{a.Value - b.Value, amount(a.Unit)}, nil
	case kb != linear && ka == linear:
		return Quantity{}, fmt.Errorf("cannot subtract %s from the difference %s", b, a)
	}
	return Add(a, Quantity{-b.Value, b.Unit})
}

// Mul returns a b. Levels multiply only with what is no level, so that 45 times 1 dB is 45 dB; points on a scale do not
// multiply, so that 2 times 25 degC is an error.
func Mul(a, b Quantity) (Quantity, error) { return product(a, b, 1) }

// Div returns a / b, in plain numbers when the dimensions cancel. Points on a scale do not divide, and a quotient by
// zero is an error.
func Div(a, b Quantity) (Quantity, error) {
	if b.Value == 0 {
		return Quantity{}, fmt.Errorf("%s is divided by zero", a)
	}
	return product(a, b, -1)
}

func product(a, b Quantity, k int8) (Quantity, error) {
	for _, p := range [2][2]Quantity{{a, b}, {b, a}} {
		q, other := p[0], p[1]
		if q.Unit.kind() != linear {
			return Quantity{}, fmt.Errorf("cannot multiply or divide %s, a point on a scale%s", q, difference(q.Unit))
		}
		if q.Dimension()[level] != 0 && other.Dimension()[level] != 0 && k > 0 {
			return Quantity{}, fmt.Errorf("cannot multiply %s by %s: levels in dB add, they do not multiply", a, b)
		}
	}
	if a.Dimension() == b.Dimension() && k < 0 { // nm over um is a plain ratio
		return Quantity{Value: a.SI() / b.SI()}, nil
	}
	// A percentage of something is that something, but percent per kelvin is a unit worth keeping.
	if a.Unit == percent && k > 0 && b.Unit != (Unit{}) {
		a = Quantity{Value: a.SI()}
	}
	if b.Unit == percent && a.Unit != (Unit{}) {
		b = Quantity{Value: b.SI()}
	}
	b = b.towards(a.Unit, k)
	u, ok := a.Unit.times(b.Unit, k)
	if !ok {
		return Quantity{}, fmt.Errorf("%s and %s: a unit may combine at most %d others", a, b, terms)
	}
	v := a.Value * b.Value
	if k < 0 {
		v = a.Value / b.Value
	}
	if q := (Quantity{v, u}); q.Dimension() != Plain || u == (Unit{}) || u == percent {
		return q, nil
	}
	return Quantity{Value: u.toSI(v)}, nil // GHz times ns: a plain number
}

// towards returns q with those of its units that a product with u^1 and q^k cancels in another size expressed in that
// of u: 1000 deg/cm times 0.45 mm is 45 deg, not 450 deg mm/cm.
func (q Quantity) towards(u Unit, k int8) Quantity {
	for i, t := range q.Unit.terms {
		for _, o := range u.terms {
			if t.index == 0 || o.index == 0 || t.index == o.index || (t.power*k > 0) == (o.power > 0) {
				continue
			}
			from, to := units[t.index-1], units[o.index-1]
			if from.dim != to.dim || from.dim == Plain {
				continue
			}
			for n := t.power; n > 0; n-- {
				q.Value = to.down(from.up(q.Value))
			}
			for n := t.power; n < 0; n++ {
				q.Value = to.up(from.down(q.Value))
			}
			q.Unit.terms[i].index = o.index
			break
		}
	}
	return q
}

var percent = MustNamed("percent")

// Attach returns the number v in unit u: what a cell means by 25*degC. It is the one way to make a
// point on a scale.
func Attach(v float64, u Unit) Quantity { return Quantity{v, u} }

// Neg returns -q; a point on a scale has no negative.
func (q Quantity) Neg() (Quantity, error) {
	if q.Unit.kind() == affine {
		return Quantity{}, fmt.Errorf("cannot negate %s: write the sign on the number, as in -5*degC", q)
	}
	return Quantity{-q.Value, q.Unit}, nil
}

// Pow returns q to the power n, from -8 to 8; other powers, and those of levels and of points on a scale, are errors.
func (q Quantity) Pow(n int) (Quantity, error) {
	if n < -8 || n > 8 {
		return Quantity{}, fmt.Errorf("%s to the power %d: the power must lie between -8 and 8", q, n)
	}
	r, err := Quantity{Value: 1}, error(nil)
	for ; n > 0 && err == nil; n-- {
		r, err = Mul(r, q)
	}
	for ; n < 0 && err == nil; n++ {
		r, err = Div(r, q)
	}
	return r, err
}

// Sqrt returns the square root of a quantity whose dimension is even. A negative value, an odd dimension, a level and
// a point on a scale are errors.
func (q Quantity) Sqrt() (Quantity, error) {
	if q.Value < 0 {
		return Quantity{}, fmt.Errorf("square root of the negative %s", q)
	}
	u := q.Unit
	if q.Dimension() == Plain { // of 4 % it is 20 %
		return FromSI(math.Sqrt(q.SI()), u), nil
	}
	for i := range u.terms {
		if u.terms[i].power%2 != 0 {
			return Quantity{}, fmt.Errorf("square root of %s: %s is not a square", q, q.Dimension())
		}
		u.terms[i].power /= 2
	}
	return Quantity{math.Sqrt(q.Value), u}, nil
}

// Compare returns -1, 0 or +1. Values that agree in twelve significant digits are equal, so that
// 1550 nm equals 1.55 um; amounts and points on a scale do not compare.
func Compare(a, b Quantity) (int, error) {
	if a.Dimension() != b.Dimension() || a.Absolute() != b.Absolute() {
		return 0, fmt.Errorf("cannot compare %s, %s, with %s, %s", a, Article(a.what()), b, Article(b.what()))
	}
	x, y := a.SI(), b.SI()
	far := math.Abs(x-y) > 2e-11*math.Abs(x) // more than two units of the twelfth digit: keys differ, and take long
	switch {
	case !far && Key(a) == Key(b):
		return 0, nil
	case x < y:
		return -1, nil
	case x > y:
		return 1, nil
	}
	return 0, fmt.Errorf("cannot compare %s with %s", a, b) // not a number
}

// Key returns a string that is the same for quantities that Compare calls equal: SI value to twelve
// significant digits, and dimension.
func Key(q Quantity) string {
	v := q.SI()
	if v == 0 {
		v = 0 // no negative zero
	}
	return strconv.FormatFloat(v, 'e', 11, 64) + q.what()
}

func (q Quantity) what() string {
	switch q.Unit.kind() {
	case affine:
		return "temperature on the Celsius scale"
	case absolute:
		return "power level"
	}
	return q.Dimension().String()
}

// String prints up to ten significant digits and the unit: "1550 nm", "-0.06 deg/K", "0.1 %".
func (q Quantity) String() string {
	v, form := round(q.Value), byte('g')
	if a := math.Abs(v); a >= 1e-4 && a < 1e10 {
		form = 'f'
	}
	return q.text(strconv.FormatFloat(v, form, -1, 64))
}

// Text prints the value with the given number of decimals and the unit: "30.00 dB".
func (q Quantity) Text(decimals int) string {
	s := strconv.FormatFloat(q.Value, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-") // no negative zero
	}
	return q.text(s)
}

func (q Quantity) text(s string) string {
	if u := q.Unit.Symbol(); u != "" {
		return s + " " + strings.TrimPrefix(u, "1") // 0.2 /cm
	}
	return s
}

// round keeps ten significant digits: what is left of a sum after its rounding errors.
func round(v float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 10, 64), 64)
	if err != nil {
		return v
	}
	return r
}

func mismatch(verb string, a, b Quantity) error {
	prep := "to"
	if verb == "subtract" {
		prep = "from"
	}
	return fmt.Errorf("cannot %s %s, %s, %s %s, %s", verb, a, Article(a.what()), prep, b, Article(b.what()))
}

// Article puts "a" or "an" before a name.
func Article(name string) string {
	if strings.ContainsRune("aeiou", rune(name[0])) {
		return "an " + name
	}
	return "a " + name
}

func difference(u Unit) string {
	if u.kind() == affine {
		return "; a difference of temperatures is in kelvin"
	}
	return "; a ratio of powers is in dB"
}

// amount is the unit of the difference of two points on a scale.
func amount(u Unit) Unit {
	if u.kind() == affine {
		return MustNamed("kelvin")
	}
	return MustNamed("dB")
}
