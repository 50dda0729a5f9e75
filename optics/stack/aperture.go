package stack

import (
	"math"

	"wedgework/optics/beam"
)

// stop is a clear aperture that a path has passed, centred on the device's axis, or the border of a half of a part.
type stop struct {
	at      beam.Vec // where the base ray met it, m
	reduced float64  // free-space distance from departure that diffracts as much, m
	radius  float64  // of the aperture, m; of a border how far the base ray is from it, on the side that is let through
	across  beam.Vec // unit vector across the border, to that side; zero for an aperture
	before  *stop    // nil for the first
}

// passed is the factor that clear apertures put on the amplitude of a path. Apertures in a row cut the same edge:
// only the one that cuts most counts.
func (s *shot) passed(c *beam.Course, last *stop) float64 {
	least := 1.0
	for a := last; a != nil; a = a.before {
		least = min(least, s.through(c, a))
	}
	return least
}

// through is the share of an overlap integral that an aperture leaves. There the integrand is the mode sent times the
// mode waiting, carried back to the aperture: a Gaussian between the two, which is the same for either direction of
// light. The phase that a tilt between the modes puts across the aperture is left out, as the overlap then comes to
// little anyway.
func (s *shot) through(c *beam.Course, a *stop) float64 {
	left := c.Reduced - a.reduced
	sent, waiting := c.Sent.Scale(a.reduced), c.Offset.Sub(c.Waiting.Scale(left)) // their centres, from the base ray
	size := func(waist, past float64) float64 {
		w := waist * math.Hypot(1, past/beam.RayleighRange(waist, s.wavelength))
		return 1 / (w * w)
	}
	u, v := size(s.coupler.SentW, a.reduced-s.coupler.SentZ), size(s.coupler.WaitingW, left-s.coupler.WaitingZ)
	off := sent.Scale(u / (u + v)).Add(waiting.Scale(v / (u + v)))
	if a.across != (beam.Vec{}) {
		return 0.5 * math.Erfc(-(a.radius+a.across.Dot(off))*math.Sqrt(u+v))
	}
	centre := a.at.Add(off)
	return beam.Clip(math.Sqrt(centre.Dot(centre)), a.radius, math.Sqrt(2/(u+v)))
}
