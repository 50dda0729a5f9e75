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
		return 0, errors.New("a number such as 38.91")
	}
	return v, nil
}

// notNumber words what was expected instead of a field that has characters no number has.
func notNumber(field string) string {
	switch strings.ToLower(strings.Trim(field, "+-")) {
	case "nan", "na", "n/a", "null", "inf", "infinity", "none":
		return "a number, or an empty field for a reading that was not taken"
	}
	if whole, part, ok := strings.Cut(field, ","); ok && digits(strings.TrimLeft(whole, "+-")) && digits(part) {
		return "a decimal point, as in " + whole + "." + part
	}
	if strings.HasPrefix(field, "−") {
		return "a hyphen for the minus sign"
	}
	if i := strings.IndexFunc(field, func(r rune) bool { return !strings.ContainsRune("0123456789+-.", r) }); i > 0 {
		if _, err := strconv.ParseFloat(strings.TrimSpace(field[:i]), 64); err == nil {
			return "a number alone: its unit stands in the head of the column"
		}
	}
	return "a number such as 38.91"
}

func digits(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

// missing marks a reading that was not taken.
var missing = math.NaN()

// What a file may hold. The bounds are choices: wide enough for every instrument, narrow enough to catch
// a column in the wrong unit or with the wrong sign.
const (
	shortest     = 100e-9 // metres: no material here transmits outside these
	longest      = 20e-6
	greatestLoss = 150  // dB: twice what a bench can tell (a choice)
	leastLoss    = -0.5 // dB: a loss near zero may come out a little negative by noise or reference drift
)

// si converts a number of the column to SI, or dB, and checks that it can be what the column says; the
// error says what was expected.
func (c *column) si(v float64) (float64, error) {
	if c.Name == Repeat {
		if v < 0 || v > math.MaxInt32 || v != math.Trunc(v) {
			return 0, errors.New("a whole number")
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
	switch c.Name {
	case Wavelength:
		if v < shortest || v > longest {
			return 0, errors.New("a wavelength between 100 nm and 20 µm")
		}
	case Frequency:
		if v < quantity.LightSpeed/longest || v > quantity.LightSpeed/shortest {
			return 0, errors.New("an optical frequency between 15 THz and 2998 THz")
		}
	case Temperature:
		if v <= 0 {
			return 0, errors.New("a temperature above absolute zero")
		}
	case PDL, DGD:
		if v < 0 {
			return 0, errors.New("a number that is not negative")
		}
	default:
		if v < leastLoss {
			return 0, errors.New("a loss, which is positive in dB")
		}
		if v > greatestLoss {
			return 0, errors.New("a loss of at most 150 dB: no power meter sees more")
		}
	}
	return v, nil
}
