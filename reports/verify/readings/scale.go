package readings

import (
	"math"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
)

// Scale is what the readings of a quantity are compared in: where their errors add, and where nothing at all is a value
// like any other.
type Scale uint8

const (
	// Level is the figure itself: an insertion loss in dB.
	Level Scale = iota + 1
	// Power is 10^(-A/10) of a level A that may be without bound: an isolation, a return loss, an extinction ratio.
	// Light of other origin adds to it, and none is zero.
	Power
	// Square is that of a length that is never negative, a PDL or a DGD: the length of a vector, to whose square noise
	// adds a share that is known in the mean (uncertainty.Modulus). Less that share it has no bias, and may be
	// negative.
	Square
)

// ScaleOf returns the scale of a quantity.
func ScaleOf(q limits.Quantity) Scale {
	switch q {
	case limits.Isolation, limits.IsolationMean, limits.ReturnLoss, limits.ExtinctionRatio:
		return Power
	case limits.PDL, limits.DGD:
		return Square
	}
	return Level
}

// Value is a figure in the scale.
func (s Scale) Value(figure float64) float64 {
	switch s {
	case Power:
		return quantity.Ratio(-figure)
	case Square:
		return figure * figure
	}
	return figure
}

// Figure is a value of the scale as the figure it is: at most 120 dB of a power, and nothing of a negative square.
func (s Scale) Figure(value float64) float64 {
	switch s {
	case Power:
		return Decibels(Root(value))
	case Square:
		return Root(value)
	}
	return value
}

// components is how many directions noise of a length has: three for the diattenuation vector of a PDL and the rotation
// vector of a DGD.
const components = 3

// Moved is by how much a standard uncertainty u of the figure moves the value, at a level of it: with sign, for a power
// falls where its level rises. Of a square, the standard deviation of the squared length of a vector whose components
// have the standard uncertainty u (uncertainty.Isotropic): 2 r u far from zero, and not nothing at zero.
func (s Scale) Moved(u, level float64) float64 {
	switch s {
	case Power:
		return -level * PerDecibel * u
	case Square:
		return u * math.Sqrt(4*max(level, 0)+2*components*u*u)
	}
	return u
}

// PerFigure is the change of the figure by one of the value, at a value that is known to a standard uncertainty: nearer
// to nothing than that the figure changes without bound, and its interval is not that of a slope.
func (s Scale) PerFigure(value, standard float64) float64 {
	switch s {
	case Power:
		return 1 / (max(value, standard) * PerDecibel)
	case Square:
		return 1 / (2 * Root(max(value, standard)))
	}
	return 1
}
