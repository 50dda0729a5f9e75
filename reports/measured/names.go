package measured

import (
	"fmt"
	"slices"
	"strings"

	"wedgework/optics/quantity"
)

// The names of the figures and axes that columns carry, as Table.U is keyed and as files spell them. A
// file may use any case, and underscores or hyphens for spaces.
const (
	Wavelength    = "wavelength"
	Frequency     = "frequency"
	Temperature   = "temperature"
	Isolation     = "isolation"
	InsertionLoss = "insertion loss"
	PDL           = "pdl"
	DGD           = "dgd"
	ReturnLoss    = "return loss"

	IsolationMean    = "isolation mean"
	InsertionLossMin = "insertion loss min"
	InsertionLossMax = "insertion loss max"
	BackwardPDL      = "pdl backward"
	BackwardDGD      = "dgd backward"

	// of parts between polarization-maintaining fibres
	ExtinctionRatio   = "extinction ratio"
	InsertionLossSlow = "insertion loss slow"
	InsertionLossFast = "insertion loss fast"

	Repeat   = "repeat"
	UnitName = "unit"
	LotName  = "lot"

	// ConditionName is when in a sequence of tests the readings were taken: before, during or after one.
	ConditionName = "condition"
)

// figures are the columns that a verification or a series may ask for, in the order of the vocabulary.
var figures = []string{
	Isolation, InsertionLoss, PDL, DGD, ReturnLoss,
	IsolationMean, InsertionLossMin, InsertionLossMax, BackwardPDL, BackwardDGD,
	InsertionLossSlow, InsertionLossFast, ExtinctionRatio,
}

// The launch states of the four-state method: three linear ones, named by their azimuth, and a circular
// one. Which circular one does not matter: it turns the sign of one element, of which the square counts.
var states = []string{"0 deg", "90 deg", "45 deg", "circular"}

// power names the column of a raw power, or of its reference: direction is "", "forward" or "backward",
// state "" or one of states.
func power(what, direction, state string) string {
	return strings.Join(slices.DeleteFunc([]string{what, direction, state}, func(s string) bool { return s == "" }),
		" ")
}

const (
	powerOf     = "power"
	referenceOf = "reference"
	forward     = "forward"
	backward    = "backward"
)

// jones names a column of a swept Jones matrix: of element 11, 12, 21 or 22 its real, imaginary, amplitude
// or phase.
func jones(element, part string) string { return "j" + element + " " + part }

var elements = []string{"11", "12", "21", "22"}

// kind says what a known column holds.
type kind struct {
	dimension quantity.Dimension
	absolute  bool     // values are points on a scale: temperatures in degC, unlike their uncertainties
	units     []string // to name in an error, the usual one first; none where numbers have no unit
	text      bool     // the column has no number: unit, lot and condition
	power     bool     // a level referred to a power, dBm in the table
	bound     string   // ">" where a reading may be "at least", "<" where "at most"
	raw       bool     // as an instrument gave it: losses and delays are computed from it
	plain     bool     // a number without a unit, of any sign
}

// kinds holds every known column, and order their names in the order of the vocabulary.
var kinds, order = known()

func known() (map[string]kind, []string) {
	k, names := map[string]kind{}, []string{}
	add := func(name string, of kind) { k[name] = of; names = append(names, name) }
	loss := kind{dimension: quantity.OfLevel, units: []string{"dB"}}
	least := kind{dimension: quantity.OfLevel, units: []string{"dB"}, bound: ">"}
	delay := kind{dimension: quantity.OfTime, units: []string{"ps", "fs"}}
	add(Wavelength, kind{dimension: quantity.OfLength, units: []string{"nm", "um"}})
	add(Frequency, kind{dimension: quantity.OfFrequency, units: []string{"THz", "GHz"}})
	add(Temperature, kind{dimension: quantity.OfTemperature, absolute: true, units: []string{"degC", "kelvin"}})
	add(Isolation, least)
	add(InsertionLoss, loss)
	add(PDL, loss)
	add(DGD, delay)
	add(ReturnLoss, least)
	add(IsolationMean, least)
	add(InsertionLossMin, loss)
	add(InsertionLossMax, loss)
	add(BackwardPDL, loss)
	add(BackwardDGD, delay)
	add(InsertionLossSlow, loss)
	add(InsertionLossFast, loss)
	add(ExtinctionRatio, least)
	k[attenuation] = least
	add(Repeat, kind{})
	add(UnitName, kind{text: true})
	add(LotName, kind{text: true})
	add(ConditionName, kind{text: true})
	for _, what := range []string{powerOf, referenceOf} {
		for _, direction := range []string{"", forward, backward} {
			for _, state := range append([]string{""}, states...) {
				add(power(what, direction, state), kind{dimension: quantity.OfPower, units: []string{"dBm", "mW"},
					power: true, bound: "<", raw: true})
			}
		}
	}
	for _, e := range elements {
		for _, part := range []string{"real", "imaginary", "amplitude"} {
			add(jones(e, part), kind{raw: true, plain: true})
		}
		add(jones(e, "phase"), kind{dimension: quantity.OfAngle, units: []string{"deg", "rad"}, raw: true})
	}
	return k, names
}

// aliases gives other names that laboratories use, in their normal form. Only what cannot be mistaken
// stands here: a T may be a temperature or a transmission, and "loss" has no direction.
var aliases = map[string]string{
	"λ": Wavelength, "lambda": Wavelength, "wl": Wavelength, "vacuum wavelength": Wavelength, "wave length": Wavelength,
	"wavel": Wavelength, "wvl": Wavelength,
	"freq": Frequency, "optical frequency": Frequency,
	"temp": Temperature,
	"iso":  Isolation, "isol": Isolation, "backward loss": Isolation, "loss backward": Isolation,
	"il": InsertionLoss, "forward loss": InsertionLoss, "loss forward": InsertionLoss, "ins loss": InsertionLoss,
	"insert loss":                 InsertionLoss,
	"polarization dependent loss": PDL, "polarisation dependent loss": PDL, "pdl forward": PDL,
	"differential group delay": DGD, "dgd forward": DGD,
	"rl": ReturnLoss, "ret loss": ReturnLoss,
	"er": ExtinctionRatio, "per": ExtinctionRatio, "ext ratio": ExtinctionRatio,
	"polarization extinction ratio": ExtinctionRatio, "polarisation extinction ratio": ExtinctionRatio,
	"slow axis insertion loss": InsertionLossSlow, "insertion loss slow axis": InsertionLossSlow,
	"il slow": InsertionLossSlow, "slow axis loss": InsertionLossSlow,
	"fast axis insertion loss": InsertionLossFast, "insertion loss fast axis": InsertionLossFast,
	"il fast": InsertionLossFast, "fast axis loss": InsertionLossFast,
	"mean isolation": IsolationMean, "least insertion loss": InsertionLossMin,
	"greatest insertion loss": InsertionLossMax,
	"serial number":           UnitName, "serial": UnitName, "s/n": UnitName, "sn": UnitName, "serial no": UnitName,
	"serial nr": UnitName, "ser no": UnitName,
	"unit no": UnitName, "unit number": UnitName, "unit id": UnitName, "unit serial number": UnitName,
	"unit serial no": UnitName, "unit sn": UnitName, "unit#": UnitName, "unit #": UnitName, "s.n": UnitName,
	"serial#": UnitName, "serial #": UnitName, "sn#": UnitName, "sn #": UnitName, "serialnumber": UnitName,
	"serialno": UnitName, "dut": UnitName, "dut id": UnitName, "dut no": UnitName, "dut sn": UnitName,
	"dut serial": UnitName, "dut serial number": UnitName, "device under test": UnitName, "device id": UnitName,
	"device no": UnitName, "device sn": UnitName, "device serial": UnitName, "device serial number": UnitName,
	"sample id": UnitName, "sample no": UnitName, "isolator no": UnitName, "isolator id": UnitName,
	"isolator sn":    UnitName,
	"test condition": ConditionName, "measurement condition": ConditionName,
	"batch": LotName, "lot no": LotName, "lot number": LotName, "batch no": LotName, "batch number": LotName,
}

// sameWords gives one spelling to the words that names of powers and matrix elements are made of.
var sameWords = strings.NewReplacer(
	"°", " deg", "fwd", forward, "bwd", backward, "reverse", backward, "forwards", forward, "backwards", backward,
	"right circular", "circular", "left circular", "circular", "rhc", "circular", "lhc", "circular",
	"horizontal", "0 deg", "vertical", "90 deg", "diagonal", "45 deg", "+45", "45",
)

// nameOf returns the known name that a head's name means, "" when it is not known.
func nameOf(name string) string {
	n := normal(name)
	if _, ok := kinds[n]; ok {
		return n
	}
	if to, ok := aliases[n]; ok {
		return to
	}
	if to, ok := abroad[n]; ok {
		return to
	}
	if to := powerName(n); to != "" {
		return to
	}
	return jonesName(n)
}

// powerName understands "forward power, 45 deg", "P_ref backward" and the like: the words in any order.
func powerName(n string) string {
	words := strings.Fields(strings.ReplaceAll(sameWords.Replace(n), ",", " "))
	what, direction, state := "", "", ""
	set := func(at *string, value string) bool {
		ok := *at == ""
		*at = value
		return ok
	}
	for i, w := range words {
		ok := true
		switch w {
		case "power", "p":
			if what != referenceOf {
				what = powerOf
			}
		case "reference", "ref":
			what = referenceOf
		case forward, backward:
			ok = set(&direction, w)
		case "circular":
			ok = set(&state, w)
		case "0", "90", "45":
			ok = set(&state, w+" deg")
		case "deg":
			ok = i > 0 && slices.Contains(states, words[i-1]+" deg")
		case "trace", "state":
		default:
			return ""
		}
		if !ok {
			return ""
		}
	}
	if what == "" {
		return ""
	}
	return power(what, direction, state)
}

var bars = strings.NewReplacer("(", " ", ")", " ", "|", " abs ")

// jonesName understands "J11 re", "Re(J11)", "|J11|", "arg J11".
func jonesName(n string) string {
	words := strings.Fields(bars.Replace(n))
	element, part := "", ""
	for _, w := range words {
		switch w {
		case "re", "real":
			part = "real"
		case "im", "imag", "imaginary":
			part = "imaginary"
		case "abs", "amplitude", "mag", "magnitude":
			part = "amplitude"
		case "arg", "phase", "angle":
			part = "phase"
		default:
			e, ok := strings.CutPrefix(w, "j")
			if !ok || element != "" || !slices.Contains(elements, e) {
				return ""
			}
			element = e
		}
	}
	if element == "" || part == "" {
		return ""
	}
	return jones(element, part)
}

func (k kind) expected() string { return strings.Join(k.units, " or ") }

// check tells whether a column of this kind may be in the unit. A level in dBm is a power, and no loss.
func (k kind) check(name string, u quantity.Unit) error {
	level := u.Dimension() == quantity.OfLevel
	dBm := level && quantity.Quantity{Value: 1, Unit: u}.Absolute()
	switch {
	case k.power && (dBm || u.Dimension() == quantity.OfPower):
		return nil
	case k.power && level:
		return fmt.Errorf("dB is a ratio of powers, and %s is in %s", name, k.expected())
	case dBm:
		return fmt.Errorf("%s is a power, and %s is in %s", u.Symbol(), name, k.expected())
	case u.Dimension() != k.dimension:
		return fmt.Errorf("%s is a %s, and %s is in %s", u.Symbol(), u.Dimension(), name, k.expected())
	}
	return nil
}

var joints = strings.NewReplacer("_", " ", "-", " ")

// normal brings a name into the form of the known ones: lower case, single spaces, no accents, and no points behind
// abbreviated words.
func normal(name string) string {
	words := strings.Fields(joints.Replace(plainLetters(strings.ToLower(name))))
	for i, w := range words {
		if short := strings.TrimRight(w, "."); short != "" {
			words[i] = short
		}
	}
	return strings.Join(words, " ")
}
