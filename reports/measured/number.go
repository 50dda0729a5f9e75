package measured

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"wedgework/optics/quantity"
)

// parseNumber reads a number as a data file may write it: digits, a decimal point, an exponent. What
// strconv would take besides (Inf, NaN, hexadecimal) is refused with the reason.
func parseNumber(field string) (float64, error) {
	for _, r := range field {
		if !strings.ContainsRune("0123456789+-.eE", r) {
			return 0, errors.New(notNumber(field))
		}
	}
	v, err := strconv.ParseFloat(field, 64)
	switch {
	case errors.Is(err, strconv.ErrRange):
		return 0, errors.New("a number that a float64 can hold")
	case err != nil:
		return 0, errors.New(notNumber(field))
	}
	return v, nil
}

// notNumber words what was expected instead of a field that has characters no number has.
func notNumber(field string) string {
	if strings.HasPrefix(field, "−") {
		return "a hyphen for the minus sign"
	}
	if _, err := parseDate(field); err == nil && strings.Contains(field, "-") {
		return "a number, not a date"
	}
	if strings.ContainsAny(field, ",' \u00a0\u202f’") && digits(strings.Map(func(r rune) rune {
		if strings.ContainsRune(",.' \u00a0\u202f’", r) {
			return -1
		}
		return r
	}, strings.TrimLeft(field, "+-"))) {
		return "a number without marks between its thousands"
	}
	if i := strings.IndexFunc(field, func(r rune) bool { return !strings.ContainsRune("0123456789+-.", r) }); i > 0 {
		if _, err := strconv.ParseFloat(strings.TrimSpace(field[:i]), 64); err == nil {
			return "a number alone: its unit is in the column heading"
		}
	}
	return "a number such as 38.91"
}

func digits(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

// missing marks a reading that was not taken.
var missing = math.NaN()

// notTaken are the marks that files put where there is no reading.
var notTaken = map[string]bool{
	"": true, "nan": true, "na": true, "n/a": true, "#n/a": true, "n.a.": true, "null": true, "none": true,
	"-": true, "--": true, "---": true, "–": true, "—": true,
}

// beyond are the marks of a reading outside the instrument's range: there was one, and a bound is known to
// whoever knows the instrument, not to the file.
var beyond = map[string]bool{
	"inf": true, "infinity": true, "∞": true, "over": true, "overload": true, "overflow": true, "overrange": true,
	"ovld": true, "ovl": true, "ol": true, "o.l.": true, "under": true, "underflow": true, "underrange": true,
	"sat": true, "#num!": true,
}

// Instruments that speak SCPI answer 9.91E37 for no number and 9.9E37 for infinity (SCPI 1999, volume 1,
// 7.2.1.4 and 7.2.1.5).
const (
	scpiNone     = 9.91e37
	scpiInfinity = 9.9e37
)

// reading is a field of a column of numbers.
type reading struct {
	value float64
	bound bool // the figure is at least value, a power at most
}

// parseReading reads a field in which the decimal mark is a point already.
func (c *column) parseReading(field string) (reading, error) {
	rest, bound := field, false
	if field == "" || field[0] < '0' || field[0] > '9' { // no mark begins with a digit
		mark := strings.ToLower(field)
		if notTaken[mark] {
			return reading{value: missing}, nil
		}
		if beyond[strings.TrimLeft(mark, "+-")] {
			return reading{}, errors.New(c.instead())
		}
		var err error
		if rest, bound, err = c.cutBound(field); err != nil {
			return reading{}, err
		}
	}
	v, err := parseNumber(rest)
	switch {
	case err != nil:
		return reading{}, err
	case v == scpiNone:
		return reading{value: missing}, nil
	case math.Abs(v) == scpiInfinity:
		return reading{}, errors.New(c.instead())
	}
	if v, err = c.si(v); err != nil {
		return reading{}, err
	}
	return reading{v, bound}, nil
}

// instead says what to write for a reading outside the instrument's range.
func (c *column) instead() string {
	example := ""
	switch {
	case c.Uncertainty:
	case c.kind.bound == ">":
		example = `a bound such as >62, or `
	case c.kind.bound == "<":
		example = `a bound such as <-80, or `
	}
	return "a number, " + example + "an empty field for a reading that was not taken"
}

// cutBound takes the mark off a reading such as ">62", which only some columns may have.
func (c *column) cutBound(field string) (rest string, bound bool, err error) {
	for _, m := range []struct{ mark, sense string }{{">=", ">"}, {"≥", ">"}, {">", ">"}, {"<=", "<"}, {"≤", "<"},
		{"<", "<"}} {
		rest, ok := strings.CutPrefix(field, m.mark)
		if !ok {
			continue
		}
		if m.sense != c.kind.bound || c.Uncertainty {
			switch {
			case c.Uncertainty || c.kind.bound == "":
				return "", false, errors.New("a number: only an isolation, a return loss or a power may be a bound")
			case c.kind.bound == ">":
				return "", false, errors.New(`a number, or "at least" as in >62`)
			}
			return "", false, errors.New(`a number, or "at most" as in <-80`)
		}
		return strings.TrimSpace(rest), true, nil
	}
	return field, false, nil
}

// What a file may hold. The bounds are choices: wide enough for every instrument, narrow enough to catch
// a column in the wrong unit or with the wrong sign.
const (
	shortest      = 300e-9 // metres: below it no fibre isolator works, and terahertz in place of nanometres land there
	longest       = 20e-6
	coldest       = 70     // kelvin: liquid nitrogen is read, degrees Celsius in a column of kelvins are not
	hottest       = 473.15 // 200 degC: more than adhesives stand, and kelvins in a column of degrees Celsius exceed it
	longestDelay  = 1e-9   // seconds: a thousand times what a part has
	greatestLoss  = 150    // dB: twice what a bench can tell (a choice)
	leastPower    = -150   // dBm
	greatestPower = 40     // dBm: ten watts
	greatestJones = 1e6    // of an element: polarimeters give matrices up to a factor
)

// si converts a number of the column to SI, dB or dBm, and checks that it can be what the column says; the
// error says what was expected.
func (c *column) si(v float64) (float64, error) {
	if c.Name == Repeat {
		if v < 0 || v > math.MaxInt32 || v != math.Trunc(v) {
			return 0, errors.New("a whole number")
		}
		return v, nil
	}
	if c.kind.plain {
		if v < 0 && strings.HasSuffix(c.Name, " amplitude") {
			return 0, errors.New("an amplitude of the field, which is not negative; not one in dB")
		}
		if !(math.Abs(v) <= greatestJones) {
			return 0, errors.New("an element of a Jones matrix, at most 1e6")
		}
		return v, nil
	}
	if c.Uncertainty {
		if v < 0 {
			return 0, errors.New("a standard uncertainty, which is not negative")
		}
		if c.kind.absolute { // a difference: degC counts as kelvin
			return v, nil
		}
		return quantity.Attach(v, c.Unit).SI(), nil
	}
	v = quantity.Attach(v, c.Unit).SI()
	if c.kind.power {
		return c.dBm(v)
	}
	return v, c.possible(v)
}

// possible returns what was expected of a value in SI or dB that its column cannot hold.
func (c *column) possible(v float64) error {
	switch c.Name {
	case Wavelength:
		if v < shortest || v > longest {
			return errors.New("a wavelength between 300 nm and 20 µm")
		}
	case Frequency:
		if v < quantity.LightSpeed/longest || v > quantity.LightSpeed/shortest {
			return errors.New("an optical frequency between 15 THz and 999 THz")
		}
	case Temperature:
		if v < coldest || v > hottest {
			return errors.New("a temperature between -203 degC and 200 degC")
		}
	case PDL, BackwardPDL:
		if v < 0 || v > greatestLoss {
			return errors.New("a PDL between 0 dB and 150 dB")
		}
	case DGD, BackwardDGD:
		if v < 0 || v > longestDelay {
			return errors.New("a DGD between 0 and 1 ns")
		}
	default:
		if c.kind.dimension != quantity.OfLevel {
			return nil // a phase
		}
		if v < -greatestLoss { // a little below zero depends on the uncertainty
			return errors.New("a loss, which is positive in dB")
		}
		if v > greatestLoss {
			return errors.New("a loss of at most 150 dB: no power meter sees more")
		}
	}
	return nil
}

// dBm brings a power, in watts or dBm, to dBm.
func (c *column) dBm(v float64) (float64, error) {
	if c.Unit.Dimension() == quantity.OfPower {
		if v <= 0 {
			return 0, errors.New("a power above zero, or a bound such as <1e-9 for one that the detector cannot tell " +
				"from zero")
		}
		v = quantity.Decibels(v / 1e-3)
	}
	if v < leastPower || v > greatestPower {
		return 0, errors.New("a power between -150 dBm and 40 dBm")
	}
	return v, nil
}
