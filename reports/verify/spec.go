package verify

import (
	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
)

// Tolerance is how far a parameter may lie from its nominal value.
type Tolerance = tolerance.Tolerance

// The shapes of a tolerance.
const (
	Normal  = tolerance.Normal
	Uniform = tolerance.Uniform
)

// Spec is what Run needs.
type Spec struct {
	Model      model.Model
	Readings   readings.Readings
	Limits     limits.Limits
	Budget     uncertainty.Budget
	Tolerances map[string]Tolerance // by parameter path
	Fit        []string             // parameter paths; empty: nothing is fitted
	// LossAt is the wavelength at which the insertion loss is a key figure; 0 means 1550 nm.
	LossAt quantity.Length
	// Smooth is how far to either side of a reading those lie that it is smoothed with before an extreme is compared
	// with a limit; 0: extremes are raw.
	Smooth quantity.Length
	// Require names metadata that the file must state, in any case of letters; data quality fails without.
	Require []string
	// MaxGap is the widest spacing of readings inside a limit's band that passes; 0 means 2 nm.
	MaxGap quantity.Length
}
