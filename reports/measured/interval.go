package measured

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
)

// Bias returns by how much noise is expected to have moved a reading: a length that noise alone makes positive, such as
// a PDL, is read too large, and extreme losses that follow from it too far apart. It is 0 for other figures, and where
// no noise is stated. Value less Bias is the unbiased reading; near zero a part of the bias remains in it, for it is
// never negative, and Interval is what can be said.
func (t *Table) Bias(figure string, row int) float64 {
	v := t.Figure(figure)[row]
	if u := t.unbiased(figure, row); u == u {
		return v - u
	}
	return 0
}

// BiasOfSquare returns what noise is expected to have added to the square of a PDL or DGD that was computed from powers
// or matrices, in dB^2 or s^2: the trace of the covariance of the vector whose length it is. It is 0 where no noise is
// stated.
func (t *Table) BiasOfSquare(figure string, row int) float64 {
	if d, four := t.divisionsOf(figure); four {
		m := t.diattenuation(d, transmissions(d, row), row)
		return m.Trace * math.Pow(pdlSlope(min(m.Unbiased(), 0.9)), 2)
	}
	switch u := uAt(t.U[figure], row); {
	case !(u > 0) || t.Figure(figure)[row] >= strongPDL && (figure == PDL || figure == BackwardPDL):
		return 0 // of a strong one the weaker state's amplitude decides, which noise moves by less than it is known to
	default:
		return 3 * u * u
	}
}

// Computed tells whether a figure follows from powers of four launch states or from Jones matrices: noise then biases
// those that cannot be negative and the extremes.
func (t *Table) Computed(figure string) bool {
	if t.Figure(figure) == nil {
		return false
	}
	if _, four := t.divisionsOf(figure); four {
		return true
	}
	switch figure {
	case PDL, BackwardPDL, DGD, BackwardDGD:
		return t.Steps != nil && !slices.ContainsFunc(t.Columns, func(c Column) bool {
			return c.Name == figure &&
				!c.Uncertainty
		})
	}
	return false
}

func (t *Table) unbiased(figure string, row int) float64 {
	if d, four := t.divisionsOf(figure); four {
		f := transmissions(d, row)
		m := t.diattenuation(d, f, row)
		if m.Trace == 0 {
			return t.Figure(figure)[row]
		}
		return withDiattenuation(figure, f.Mean, m.Unbiased())
	}
	if m, scale, ok := t.modulus(figure, row, t.Figure(figure)[row] >= strongPDL); ok {
		return scale.back(m.Unbiased())
	}
	return t.Figure(figure)[row]
}

// withDiattenuation returns a figure in dB of a mean transmission and a diattenuation.
func withDiattenuation(figure string, mean, d float64) float64 {
	switch figure {
	case InsertionLossMin, Isolation:
		return -quantity.Decibels(mean * (1 + d))
	case InsertionLossMax:
		return -quantity.Decibels(mean * (1 - d))
	case PDL, BackwardPDL:
		return pdlOf(d)
	}
	return -quantity.Decibels(mean)
}

// Interval returns an interval that holds the true figure with the probability p as far as the noise that the file
// states decides: value and expanded uncertainty for most; for a PDL, a DGD and extremes over polarization one that
// keeps its probability down to zero, and has no upper end where the least transmission is not told from nothing.
func (t *Table) Interval(figure string, row int, p float64) (low, high float64) {
	k := distuv.UnitNormal.Quantile((1 + p) / 2)
	if d, four := t.divisionsOf(figure); four && figure != InsertionLoss && figure != IsolationMean {
		return t.intervalOfFour(figure, d, row, p, k)
	}
	v := t.Figure(figure)[row]
	u := uAt(t.U[figure], row)
	if m, scale, ok := t.modulus(figure, row, t.Figure(figure)[row] >= strongPDL); ok {
		low, high := m.Interval(p)
		return scale.ends(low, high)
	}
	return v - k*u, v + k*u
}

func (t *Table) intervalOfFour(figure string, d []*division, row int, p, k float64) (low, high float64) {
	f := transmissions(d, row)
	m := t.diattenuation(d, f, row)
	least, most := m.Interval(p)
	if figure == PDL || figure == BackwardPDL {
		return pdlOf(min(least, 1)), pdlOf(min(most, 1))
	}
	if m.Trace == 0 {
		v := f.value(figure)
		return v, v
	}
	// An extreme is the mean with the diattenuation, whose sides are unequal near zero: mean, side and what they share.
	slope, level := f.slopes(figure), f.slopes(InsertionLoss)
	all := t.standard(figure, d, slope[:], row)
	mean := t.standard(InsertionLoss, d, level[:], row)
	at, s := m.Unbiased(), m.Standard()
	worst := figure == InsertionLossMax
	if !worst && at > told*s { // the direction is known, and the greater transmission moves with the powers
		v := withDiattenuation(figure, f.Mean, at)
		return v - k*all, v + k*all
	}
	length := s / relative / (1 + at)
	if worst {
		length = s / relative / max(1-at, 1e-9)
	}
	// Near zero noise chooses the direction, and what mean and length share along it is no covariance of theirs.
	shared := (all*all - mean*mean - length*length) / 2 * at * at / (at*at + s*s)
	side := func(reach float64) float64 { // of the diattenuation, in its standard uncertainties
		r := reach / s
		apart := math.Sqrt(max(k*k*mean*mean+r*r*length*length+2*k*r*shared, 0))
		if least == 0 && reach == at { // down to none: all of the length may be noise, and the mean is uncertain beside
			return max(apart, r*length+k*mean)
		}
		return apart
	}
	v := withDiattenuation(figure, f.Mean, min(at, 1))
	if worst {
		return v - side(at-least), v + side(most-at)
	}
	return v - side(most-at), v + side(at-least)
}

// told is how many of its standard uncertainties a diattenuation is that has a direction (a choice).
const told = 5

// scale turns a figure that the file gives by itself into the length of a vector with equal noise in its components.
type scale struct {
	back func(length float64) float64
	flip bool // a greater length is a smaller figure
}

func (s scale) ends(low, high float64) (float64, float64) {
	if s.flip {
		low, high = high, low
	}
	return s.back(low), s.back(high)
}

// strongPDL is the PDL in dB from which on the weaker state decides its noise (a choice).
const strongPDL = 5

// modulus returns a PDL or DGD from Jones matrices, or one of the file itself with its uncertainty, as the length that
// it is: of the diattenuation vector, for a strong one of the amplitude that is left of the weaker state (two
// components), and of the rotation vector of a step (three).
func (t *Table) modulus(figure string, row int, strong bool) (m uncertainty.Modulus, s scale, ok bool) {
	v, u := t.Figure(figure)[row], uAt(t.U[figure], row)
	if v != v || !(u > 0) {
		return m, s, false
	}
	switch figure {
	case DGD, BackwardDGD:
		return uncertainty.Isotropic(v, u, 3), scale{back: func(x float64) float64 { return x }}, true
	case PDL, BackwardPDL:
		if !strong {
			d := math.Tanh(v * relative / 2)
			return uncertainty.Isotropic(d, u/pdlSlope(d), 3),
				scale{back: func(x float64) float64 { return pdlOf(min(x, 1)) }}, true
		}
		q := math.Pow(10, -v/20) // s2 / s1, of which dq = q dv ln(10)/20
		back := func(x float64) float64 { return -20 * math.Log10(x) }
		return uncertainty.Isotropic(q, q*u*relative/2, 2), scale{back: back, flip: true}, true
	}
	return m, s, false
}
