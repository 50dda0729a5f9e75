package measured

import (
	"strings"

	"wedgework/optics/quantity"
)

// spellings gives other ways in which laboratories write a unit of the vocabulary, in lower case. A
// spelling whose case matters elsewhere (mT against MT) does not occur here: no column known carries one.
var spellings = map[string]string{
	"°c": "degC", "℃": "degC", "º c": "degC", "ºc": "degC", "° c": "degC", "c": "degC", "deg c": "degC",
	"deg. c": "degC", "celsius": "degC", "degrees c": "degC",
	"k":  "kelvin",
	"µm": "um", "μm": "um", "micron": "um", "microns": "um", "nanometre": "nm", "nanometer": "nm",
	"m": "metre", "meter": "metre",
	"s": "second", "sec": "second",
	"°": "deg", "degree": "deg", "degrees": "deg", "radian": "rad",
	"µw": "uW", "μw": "uW", "w": "watt",
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
