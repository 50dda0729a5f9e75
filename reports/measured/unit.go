package measured

import (
	"fmt"
	"strings"

	"wedgework/optics/quantity"
)

// spellings gives other ways in which laboratories write a unit of the vocabulary, in lower case. A
// spelling whose case matters elsewhere (mT against MT) does not occur here: no column known carries one.
var spellings = map[string]string{
	"°c": "degC", "℃": "degC", "c": "degC", "deg c": "degC", "celsius": "degC",
	"k":  "kelvin",
	"µm": "um", "μm": "um", "micron": "um",
	"m": "metre", "meter": "metre",
	"s": "second",
}

// lookUp finds the unit a head names: as cells spell it, in any case, or in another common spelling.
func lookUp(name string) (quantity.Unit, bool) {
	if u, ok := quantity.Named(name); ok {
		return u, true
	}
	lower := strings.ToLower(strings.Join(strings.Fields(name), " "))
	if other, ok := spellings[lower]; ok {
		return quantity.MustNamed(other), true
	}
	var found []string
	for _, n := range quantity.Names() {
		if strings.ToLower(n) == lower {
			found = append(found, n)
		}
	}
	if len(found) == 1 {
		return quantity.MustNamed(found[0]), true
	}
	return quantity.Unit{}, false
}

// kind says what a known column holds.
type kind struct {
	dimension quantity.Dimension
	absolute  bool     // values are points on a scale: temperatures in degC, unlike their uncertainties
	units     []string // to name in an error, the usual one first; none for repeat, unit and lot
	text      bool     // the column has no number: unit and lot
}

var kinds = map[string]kind{
	Wavelength:    {dimension: quantity.OfLength, units: []string{"nm", "um"}},
	Frequency:     {dimension: quantity.OfFrequency, units: []string{"THz", "GHz"}},
	Temperature:   {dimension: quantity.OfTemperature, absolute: true, units: []string{"degC", "kelvin"}},
	Isolation:     {dimension: quantity.OfLevel, units: []string{"dB"}},
	InsertionLoss: {dimension: quantity.OfLevel, units: []string{"dB"}},
	PDL:           {dimension: quantity.OfLevel, units: []string{"dB"}},
	DGD:           {dimension: quantity.OfTime, units: []string{"ps", "fs"}},
	ReturnLoss:    {dimension: quantity.OfLevel, units: []string{"dB"}},
	Repeat:        {},
	UnitName:      {text: true},
	LotName:       {text: true},
}

// order lists the known columns in the order of the vocabulary.
var order = []string{
	Wavelength, Frequency, Temperature, Isolation, InsertionLoss, PDL, DGD, ReturnLoss, Repeat, UnitName, LotName,
}

func (k kind) expected() string { return strings.Join(k.units, " or ") }

// check tells whether a column of this kind may be in the unit. A level in dBm is a power, and no loss.
func (k kind) check(name string, u quantity.Unit) error {
	power := quantity.Quantity{Value: 1, Unit: u}.Absolute() && u.Dimension() == quantity.OfLevel
	switch {
	case power:
		return fmt.Errorf("%s is a power, and %s is in %s", u.Symbol(), name, k.expected())
	case u.Dimension() != k.dimension:
		return fmt.Errorf("%s is a %s, and %s is in %s", u.Symbol(), u.Dimension(), name, k.expected())
	}
	return nil
}
