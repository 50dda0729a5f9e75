package measured

import (
	"strings"
	"sync"

	"wedgework/optics/quantity"
)

// spellings gives other ways in which laboratories write a unit of the vocabulary, in lower case. A
// spelling whose case matters elsewhere (mT against MT) does not occur here: no column known carries one.
var spellings = map[string]string{
	"°c": "degC", "℃": "degC", "º c": "degC", "ºc": "degC", "° c": "degC", "c": "degC", "deg c": "degC",
	"deg. c": "degC", "celsius": "degC", "degrees c": "degC",
	"degree celsius": "degC", "degrees celsius": "degC", "deg celsius": "degC", "grad c": "degC", "摄氏度": "degC",
	"攝氏度": "degC",
	"k":   "kelvin", "kelvins": "kelvin",
	"decibel": "dB", "decibels": "dB", "decibel milliwatt": "dBm", "decibel-milliwatt": "dBm", "分贝": "dB",
	"nanometres": "nm", "nanometers": "nm", "纳米": "nm", "奈米": "nm",
	"micrometre": "um", "micrometer": "um", "micrometres": "um", "micrometers": "um", "微米": "um",
	"picosecond": "ps", "picoseconds": "ps", "femtosecond": "fs", "femtoseconds": "fs", "皮秒": "ps",
	"terahertz": "THz", "gigahertz": "GHz", "milliwatt": "mW", "milliwatts": "mW",
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
	if found := lowered()[lower]; found != "" {
		return quantity.MustNamed(found), true
	}
	return quantity.Unit{}, false
}

// lowered are the names of the units in lower case; "" where two differ in case alone.
var lowered = sync.OnceValue(func() map[string]string {
	all := map[string]string{}
	for _, n := range quantity.Names() {
		lower := strings.ToLower(n)
		if _, twice := all[lower]; twice {
			n = ""
		}
		all[lower] = n
	}
	return all
})
