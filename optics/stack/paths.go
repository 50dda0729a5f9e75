package stack

import (
	"math"

	"wedgework/optics/beam"
	"wedgework/optics/quantity"
)

// Path explains one path of a response.
type Path struct {
	Label  string   // rays in the order the light passed the crystals: "oo", "ooo ghost" for one that turned round in one
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
	c := s.lay(t)
	if err := c.tune(l); err != nil {
		return nil, err
	}
	var paths []Path
	least := math.Inf(1)
	shot := s.shoot(c, d, l, s.poseAt(t), nil)
	shot.arrived = func(a *arrival) {
		share := 0.0
		for m := range shot.modes {
			for _, v := range a.field[m] {
				share += v.power() / 2
			}
		}
		paths = append(paths, Path{
			Label:  a.label(),
			Ghost:  a.leg != straight,
			Power:  -quantity.Decibels(share * power(a.amplitude)),
			Sent:   -quantity.Decibels(share) + 20*a.loss*math.Log10E,
			Offset: a.course.Offset.Scale(-1),
			Tilt:   a.course.Waiting.Scale(-1),
			Delay:  a.delay,
		})
		least = min(least, a.delay)
	}
	shot.along(shot.chief())
	for i := range paths {
		paths[i].Delay -= least
	}
	return paths, nil
}
