package stack

import (
	"slices"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// Point is what a stack does to light of one wavelength at one temperature in one direction.
type Point struct {
	T1, T2 float64 // greatest and least power transmission over all states of polarization

	// H holds the power that arrives by launch polarization, all that adds incoherently included: T1 and T2 are its
	// eigenvalues. Unlike them it is smooth where the two cross.
	H polar.Gram

	// Bounced is the part of H that double bounces bring where they add in power; zero where they interfere with the rest.
	Bounced polar.Gram

	// Ripple is what the double bounces would move T1 and T2 by if they did not add in power; zero but with GhostsRipple.
	Ripple polar.Ripple

	// M is the dominant Jones matrix: that of the light no rotator has depolarized. Its common phase
	// is arbitrary.
	M polar.Matrix

	// Slow and Fast are the group delays of its principal states in seconds, from a common origin.
	Slow, Fast float64
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

// heap gathers arrivals into groups. Arrivals of one depolarization mode interfere, within a group in full; modes do not.
type heap struct {
	shot   *shot
	fwhm   float64 // linewidth of the source, Hz
	direct group   // the light that was not reflected; with a linewidth of zero, all of it
	ghosts []group
	origin float64 // delay of the first arrival
	begun  bool
}

func (h *heap) add(a *arrival) {
	if !h.begun {
		h.origin, h.begun = a.delay, true
	}
	into := &h.direct
	if h.fwhm > 0 && a.leg != straight {
		into = h.ghost(a.bounce())
	}
	for m := range h.shot.modes {
		j := h.shot.to.jones(a.path, m, Direction(h.shot.step)).Scale(a.amplitude)
		into.add(m, &j, a.delay-h.origin)
		into.weigh(&j, a.delay-h.origin)
	}
}

// ghost returns the group of a double bounce.
func (h *heap) ghost(id int) *group {
	i := slices.IndexFunc(h.ghosts, func(g group) bool { return g.id == id })
	if i < 0 {
		i = len(h.ghosts)
		h.ghosts = append(h.ghosts, group{id: id})
	}
	return &h.ghosts[i]
}

// evaluate sends light through a course already laid and tuned: the readable path sum, which plan.evaluate
// must agree with.
func (s *Stack) evaluate(c *course, d Direction, l quantity.Length) Point {
	h := &heap{fwhm: s.fwhm()}
	h.shot = s.shoot(c, d, l, s.poseAt(c.at), h.add)
	h.shot.own = true
	h.shot.along(h.shot.halfway())
	p := total(&h.direct, h.ghosts, h.shot.modes, h.fwhm)
	if s.ghosts == GhostsRipple {
		p.Ripple = ripple(&h.direct, h.ghosts, h.shot.modes)
	}
	return p
}

// At returns the response at one vacuum wavelength and temperature.
func (s *Stack) At(d Direction, l quantity.Length, t quantity.Temperature) (Point, error) {
	var p [1]Point
	err := s.row(d, []quantity.Length{l}, t, p[:])
	return p[0], err
}

// PathSum returns the same as At by the readable path sum, some five times slower: what a simulation of readings uses
// that a verification is then tried on, which knows the stack by its plan.
func (s *Stack) PathSum(d Direction, l quantity.Length, t quantity.Temperature) (Point, error) {
	c := s.lay(t)
	if err := c.tune(l); err != nil {
		return Point{}, err
	}
	return s.evaluate(c, d, l), nil
}
