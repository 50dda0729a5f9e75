package stack

import (
	"math"

	"wedgework/optics/beam"
	"wedgework/optics/quantity"
)

// Path explains one path of a response.
type Path struct {
	// rays in the order the light passed the crystals: "oo", "ooo ghost" for one that turned round in one
	Label  string
	Ghost  bool     // it bounced twice between parallel faces
	Power  float64  // dB below the power launched, averaged over polarization, as collected by the receiver
	Sent   float64  // dB, the same before the receiver: what the path carries
	Offset beam.Vec // where its chief ray arrives, from the receiver's centre, m
	Tilt   beam.Vec // its direction against the receiver's axis, rad
	Delay  float64  // group delay, s, from the least of all paths
}

// Paths returns the paths of one direction at one wavelength and temperature, in the order in which the
// crystals split them, each told by its chief ray. Ghosts are listed when the stack has them.
func (s *Stack) Paths(d Direction, l quantity.Length, t quantity.Temperature) ([]Path, error) {
	if err := s.through(); err != nil {
		return nil, err
	}
	var paths []Path
	err := s.traced(d, l, t, func(q *tracer) {
		q.chiefly(func(a *state) { paths = append(paths, q.path(a)) })
	})
	return fromFirst(paths), err
}

// path is what a path's end tells.
func (q *tracer) path(a *state) Path {
	share, c := q.carried(a, &outside), q.way(a)
	return Path{
		Label:  a.label(),
		Ghost:  a.leg != straight,
		Power:  -quantity.Decibels(share * power(q.overlap(&c, a))),
		Sent:   -quantity.Decibels(share) + 20*a.loss*math.Log10E,
		Offset: c.Offset.Scale(-1),
		Tilt:   c.Waiting.Scale(-1),
		Delay:  a.delay + c.Base.Dot(c.Offset)/quantity.LightSpeed,
	}
}

// fromFirst counts delays from that of the path that arrives first.
func fromFirst(paths []Path) []Path {
	least := math.Inf(1)
	for _, p := range paths {
		least = min(least, p.Delay)
	}
	for i := range paths {
		paths[i].Delay -= least
	}
	return paths
}
