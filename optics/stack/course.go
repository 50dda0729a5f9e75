package stack

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// What a course can hold: sixteen faces are two two-wedge stages with room to spare.
const (
	maxFaces    = 24
	maxRotators = 4 // that depolarize: each doubles the modes; of others there may be any number
	maxModes    = 1 << maxRotators
	maxRays     = 3*maxFaces/2 + 2 // a double bounce passes every crystal at most three times, and turns round in two
)

// course is a stack laid out at one temperature: its faces in a row, with a medium between each two.
// tune sets the media for one wavelength.
type course struct {
	stack *Stack
	faces []element.Face
	media []element.Medium // media[i] lies between faces[i] and faces[i+1]
	parts []placed
	films []*element.Medium // rotators that depolarize, in order
	at    quantity.Temperature

	waist float64 // of either collimator at the wavelength tuned to
	ahead float64 // its distance in front of the lens face
}

// placed is an element in the course: where its media begin.
type placed struct {
	element element.Element
	first   int // its first medium
	count   int
	like    int // medium of an earlier part of the same crystal, or -1
}

func (s *Stack) lay(t quantity.Temperature) *course {
	c := &course{}
	c.lay(s, t)
	return c
}

// lay lays a stack out in the room of an earlier one.
func (c *course) lay(s *Stack, t quantity.Temperature) {
	*c = course{stack: s, at: t, faces: c.faces[:0], media: c.media[:0], parts: c.parts[:0], films: c.films[:0]}
	z := 0.0
	for _, e := range s.spec.Elements {
		part := e.Place(t)
		if len(part.Faces) > 0 {
			if len(c.faces) > 0 {
				c.media = append(c.media, element.Air)
			}
			for _, f := range part.Faces {
				f.Z += z
				c.faces = append(c.faces, f)
			}
			c.parts = append(c.parts, placed{e, len(c.media), len(part.Media), c.sameCrystal(e)})
			c.media = append(c.media, part.Media...)
		}
		z += part.Length
	}
}

// sameCrystal returns the medium of an earlier part that is cut from the same crystal, or -1.
func (c *course) sameCrystal(e element.Element) int {
	mine := element.CrystalOf(e)
	for _, p := range c.parts {
		if mine != nil && element.CrystalOf(p.element) == mine {
			return p.first
		}
	}
	return -1
}

// tune sets what depends on wavelength in the course's media and beam.
func (c *course) tune(l quantity.Length) error {
	err := conditions(l, c.at)
	if err != nil {
		return err
	}
	if c.waist, c.ahead, err = c.stack.spec.Beam.Beam(c.stack.lens, l); err != nil {
		return err
	}
	for i := range c.parts {
		p := &c.parts[i]
		if p.like >= 0 { // cut from the same crystal as a part before: its indices are known
			from := c.media[p.like].Crystal
			to := c.media[p.first].Crystal
			to.O, to.E, to.GroupO, to.GroupE = from.O, from.E, from.GroupO, from.GroupE
			continue
		}
		if err := p.element.Tune(l, c.at, c.media[p.first:p.first+p.count]); err != nil {
			return err
		}
	}
	c.films = c.films[:0]
	for i := range c.media {
		if c.media[i].Crossed > 0 {
			c.films = append(c.films, &c.media[i])
		}
	}
	return nil
}

// conditions reports a wavelength or temperature that is none, such as the zero value of one that was never set.
func conditions(l quantity.Length, t quantity.Temperature) error {
	switch {
	case !(l > 0) || math.IsInf(float64(l), 0):
		return fmt.Errorf("a vacuum wavelength must be positive, got %g nm", float64(l)/1e-9)
	case !(t > 0) || math.IsInf(float64(t), 0):
		return fmt.Errorf("a temperature must be above 0 kelvin, got %g kelvin", float64(t))
	}
	return nil
}

// film returns the bit of a rotator that depolarizes.
func (c *course) film(m *element.Medium) uint8 {
	for i, f := range c.films {
		if f == m {
			return 1 << i
		}
	}
	return 0
}

// parallel reports whether two faces are parallel, so that light between them can bounce on to the receiver.
func (c *course) parallel(i, j int) bool {
	a, b := &c.faces[i].Normal, &c.faces[j].Normal
	x, y := a.X-b.X, a.Y-b.Y
	return x*x+y*y < parallelTo*parallelTo
}

// parallelTo is how parallel two faces must be, in radians: heat turns the faces of crystals by microradians, and a
// double bounce turns the light by twice the angle, against a divergence of some milliradians (a choice).
const parallelTo = 0.5e-3

// medium returns what lies on the far side of face i where a ray is at r, seen along the direction of travel.
func (c *course) medium(i, step int, r *r3.Vec) *element.Medium {
	if step < 0 {
		i--
	}
	if i < 0 || i >= len(c.media) {
		return &outside
	}
	m := &c.media[i]
	if b := m.Beside; b != nil && b.Depth(r.X, r.Y) > 0 {
		return &b.Medium
	}
	return m
}

// border returns how deep a ray at r, on its way in or out through a face of medium m, is in the half that it keeps to,
// in metres, and the unit vector across the border into that half; false where the part is the same all over. in is the
// medium that the ray comes through.
func (c *course) border(m int, in *element.Medium, r *r3.Vec) (depth float64, across beam.Vec, ok bool) {
	if m < 0 || m >= len(c.media) || c.media[m].Beside == nil {
		return 0, beam.Vec{}, false
	}
	b := c.media[m].Beside
	depth, across = b.Depth(r.X, r.Y), beam.Vec{X: b.X, Y: b.Y}
	if in == &b.Medium || in != &c.media[m] && depth > 0 {
		return depth, across, true
	}
	return -depth, across.Scale(-1), true
}

// outside is the medium before the first face and behind the last.
var outside = element.Air
