// Package limits states what a part must do and decides whether a measured figure shows that it does.
//
// A limit applies to a quantity over a band of wavelengths and a range of temperatures. The decision is
// guarded on both sides (ISO 14253-1, JCGM 106:2012): a figure is inside only when it is inside by its
// expanded uncertainty, outside only when it is outside by as much, and undecided between. The package
// finds no figures in data; reports/verify does.
package limits

import (
	"fmt"
	"math"
	"strings"

	"wedgework/optics/quantity"
)

// Limit is one requirement.
type Limit struct {
	Quantity        Quantity
	AtLeast         bool    // the figure must not fall below Value; otherwise not exceed it
	Value           float64 // in the unit of the quantity
	Low, High       quantity.Length
	TemperatureLow  quantity.Temperature
	TemperatureHigh quantity.Temperature
	Rule            *Rule  // how figures are held against it; nil is Guarded
	Prior           *Prior // what is known of the figure before it is measured; nil: nothing
	// Change makes it a requirement on the change of the quantity since an earlier measurement of the same unit, as
	// qualification tests have them: the change must not exceed Value in size, up or down. nil: on the quantity itself.
	Change *Change
}

// Change names the measurement that a change is counted from.
type Change struct {
	Since string // as a report prints it: "before damp heat"
}

// Limits is a list of requirements; all must be met.
type Limits []Limit

// Check reports what is wrong with a limit.
func (l Limit) Check() error {
	unit := l.Quantity.Unit()
	switch {
	case !l.Quantity.Known():
		return fmt.Errorf("limit on %q: expected one of %s", string(l.Quantity), strings.Join(names(), ", "))
	case math.IsNaN(l.Value) || math.IsInf(l.Value, 0):
		return fmt.Errorf("limit on %s: %g %s is not a limit", l.Quantity, l.Value, unit)
	case l.Value <= 0:
		return fmt.Errorf("limit on %s: %g %s; losses and delays are positive, so a limit above 0 %s was expected",
			l.Quantity, l.Value, unit, unit)
	case !(l.Low > 0) || !(l.High >= l.Low):
		return fmt.Errorf("limit on %s: the band runs from %g m to %g m; expected two wavelengths in rising order",
			l.Quantity, float64(l.Low), float64(l.High))
	case !(l.TemperatureLow > 0) || !(l.TemperatureHigh >= l.TemperatureLow):
		return fmt.Errorf("limit on %s: the temperatures run from %g K to %g K; expected two in rising order",
			l.Quantity, float64(l.TemperatureLow), float64(l.TemperatureHigh))
	case l.Change != nil && l.Change.Since == "":
		return fmt.Errorf("limit on a change of %s: since when? Expected the name of an earlier measurement",
			l.Quantity)
	case l.Change != nil && l.AtLeast:
		return fmt.Errorf("limit on a change of %s since %s: a change must not exceed a value; it has no least value",
			l.Quantity, l.Change.Since)
	case l.Change != nil && l.Prior != nil:
		return fmt.Errorf("limit on a change of %s since %s: a prior says what units are, not how they change",
			l.Quantity, l.Change.Since)
	case l.Rule != nil && !(l.Rule.Guard >= 0 && l.Rule.Guard < math.Inf(1)):
		return fmt.Errorf("limit on %s: the guard factor is %g; expected a number from 0 up", l.Quantity, l.Rule.Guard)
	}
	return l.Prior.check(l.Quantity)
}

// Side words the side on which the limit bounds the figure: "at least" or "at most".
func (l Limit) Side() string { return side(l.AtLeast) }

// InForce returns the rule that figures are held against the limit by.
func (l Limit) InForce() Rule {
	if l.Rule == nil {
		return Guarded
	}
	return *l.Rule
}

// conforming returns the ends of the interval of figures that meet the limit: of a change both, else one of them
// infinite.
func (l Limit) conforming() (low, high float64) {
	if l.Change != nil {
		return -l.Value, l.Value
	}
	if l.AtLeast {
		return l.Value, math.Inf(1)
	}
	return math.Inf(-1), l.Value
}

// slack is how far outside a stated band a reading may lie and still belong to it: half a picometre and
// half a millikelvin, for readings pass through text and units on their way here.
const (
	slackLength      = 0.5e-12
	slackTemperature = 0.5e-3
)

// Covers reports whether a reading at this wavelength and temperature is one the limit applies to;
// margin widens the range of temperatures, for a chamber is never exactly where it was set.
func (l Limit) Covers(w quantity.Length, t quantity.Temperature, margin float64) bool {
	return w >= l.Low-slackLength && w <= l.High+slackLength && Near(t, l.TemperatureLow, l.TemperatureHigh, margin)
}

// Near reports whether a temperature lies between two, or outside them by no more than margin, in kelvin. Half a
// millikelvin more is allowed, which is what text, units and means leave: 22 degC is within 1 K of 23 degC.
func Near(t, low, high quantity.Temperature, margin float64) bool {
	return float64(t) >= float64(low)-margin-slackTemperature && float64(t) <= float64(high)+margin+slackTemperature
}
