package stack

import (
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// Point is what a stack does to light of one wavelength at one temperature in one direction.
type Point struct {
	T1, T2 float64 // greatest and least power transmission over all states of polarization

	// H holds the power that arrives by launch polarization, all that adds incoherently included: T1 and T2 are its
	// eigenvalues. Unlike them it is smooth where the two cross.
	H polar.Gram

	// Bounced is the part of H that double bounces bring where they add in power; zero where they interfere with the
	// rest.
	Bounced polar.Gram

	// Ripple is what the double bounces would move T1, T2 and DGD by if they did not add in power; zero but with
	// GhostsRipple.
	Ripple polar.Ripple

	// M is the dominant Jones matrix: that of the light no rotator has depolarized. Its common phase
	// is arbitrary. What it lacks of the light Depolarized says, and Mueller holds.
	M polar.Matrix

	// Slow and Fast are the group delays of its principal states in seconds, from a common origin.
	Slow, Fast float64

	// Axes is the power that arrives along the slow and the fast axis of the receiving fibre, by launch along the slow
	// and the fast axis of the sending one, with what each fibre by itself puts from one axis into the other; zero
	// where the fibres have no axes. All that is depolarized or adds in power is in it, as in H.
	Axes polar.Crossing

	// Along is the axis that light is launched along, and should leave along: 0 for slow, 1 for fast.
	Along uint8
}

// Depolarized returns the share of the power that arrives, averaged over polarization, that M does not hold: light
// that a rotator has depolarized, and double bounces that do not interfere.
func (p Point) Depolarized() float64 {
	var m polar.Gram
	m.Add(p.M)
	if all := p.H.XX + p.H.YY; all > 0 {
		return max(0, 1-(m.XX+m.YY)/all)
	}
	return 0
}

// InsertionLoss returns the polarization-averaged loss in dB, -10 log10((t1+t2)/2) (IEC 61300-3-4).
func (p Point) InsertionLoss() float64 { return -quantity.Decibels((p.T1 + p.T2) / 2) }

// InsertionLossMin returns the loss in dB of the state of polarization that loses least.
func (p Point) InsertionLossMin() float64 { return -quantity.Decibels(p.T1) }

// InsertionLossMax returns the loss in dB of the state of polarization that loses most.
func (p Point) InsertionLossMax() float64 { return -quantity.Decibels(p.T2) }

// Isolation returns the backward loss in dB, the least over all states of polarization (IEC 61202-1).
func (p Point) Isolation() float64 { return -quantity.Decibels(p.T1) }

// IsolationMean returns the polarization-averaged backward loss in dB.
func (p Point) IsolationMean() float64 { return p.InsertionLoss() }

// PDL returns 10 log10(t1/t2) in dB (IEC 61300-3-2).
func (p Point) PDL() float64 { return quantity.Decibels(p.T1 / p.T2) }

// DGD returns the differential group delay in seconds.
func (p Point) DGD() float64 { return p.Slow - p.Fast }

// ExtinctionRatio returns in dB the power along the axis of the receiving fibre that the light should leave along, over
// that along the other axis, for light launched along the same axis of the sending fibre; +Inf where nothing arrives
// along the other axis, negative where more does, and NaN where the fibres have no axes. That is what an analyser
// behind the fibre finds with light of short coherence (IEC 61300-3-40, from memory).
func (p Point) ExtinctionRatio() float64 {
	return quantity.Decibels(p.Axes[p.Along][p.Along] / p.Axes[1-p.Along][p.Along])
}

// InsertionLossSlow returns the loss in dB of light launched along the slow axis of the sending fibre, all of what
// arrives along either axis of the receiving one counted; +Inf where the fibres have no axes.
func (p Point) InsertionLossSlow() float64 { return -quantity.Decibels(p.Axes[0][0] + p.Axes[1][0]) }

// InsertionLossFast returns the same for the fast axis.
func (p Point) InsertionLossFast() float64 { return -quantity.Decibels(p.Axes[0][1] + p.Axes[1][1]) }

// At returns the response at one vacuum wavelength and temperature.
func (s *Stack) At(d Direction, l quantity.Length, t quantity.Temperature) (Point, error) {
	var p [1]Point
	err := s.row(d, []quantity.Length{l}, t, p[:])
	return p[0], err
}

// Mueller returns the Mueller matrix from launched to received light, with all that is depolarized or adds in power.
func (s *Stack) Mueller(d Direction, l quantity.Length, t quantity.Temperature) (m polar.Mueller, err error) {
	if err := s.through(); err != nil {
		return m, err
	}
	err = s.traced(d, l, t, func(q *tracer) {
		q.gather(s.fwhm())
		m = mueller(&q.sums.direct, q.sums.ghosts[:q.sums.pairs], q.modes, q.sums.fwhm)
	})
	return m, err
}
