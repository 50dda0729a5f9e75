package element

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
)

// Slant is how a film or slab stands across the beam, and how far its faces are from parallel. The zero value is square
// to z, with parallel faces.
type Slant struct {
	Tilt    quantity.Angle // of the front face's normal against z, rad
	Wedge   quantity.Angle // of the back face's normal against the front one's, rad, in the plane of the tilt
	Azimuth quantity.Angle // of that plane, rad
}

// steepestSlant bounds tilt and wedge together.
const steepestSlant = math.Pi / 3

// square reports whether both faces are square to z.
func (s *Slant) square() bool { return s.Tilt == 0 && s.Wedge == 0 }

// check reports faces that light along z hardly meets.
func (s *Slant) check() error {
	if !(math.Abs(float64(s.Tilt))+math.Abs(float64(s.Wedge)) < steepestSlant) {
		return fmt.Errorf("tilt %.6g deg and wedge %.6g deg must come to less than 60 deg together",
			float64(s.Tilt/quantity.Degree), float64(s.Wedge/quantity.Degree))
	}
	return nil
}

// rolled returns the slant of a part that is turned about z.
func (s Slant) rolled(angle quantity.Angle) Slant {
	if !s.square() {
		s.Azimuth += angle
	}
	return s
}

// lay stands two faces a thickness apart, in metres along the normal of the front one through its middle, and returns
// that normal.
func (s *Slant) lay(front, back *Face, thickness float64) r3.Vec {
	if s.square() {
		front.Normal.Z, back.Normal.Z, back.Z = 1, 1, thickness
		return front.Normal
	}
	front.Normal = normal(float64(s.Tilt), float64(s.Azimuth))
	back.Normal = normal(float64(s.Tilt+s.Wedge), float64(s.Azimuth))
	back.Z = thickness * r3.Dot(front.Normal, back.Normal) / back.Normal.Z
	return front.Normal
}

// slantNumbers is how many there are.
const slantNumbers = 3

// slantFields are its adjustable numbers, as those of the part that stands so.
func slantFields[T any](of func(*T) *Slant) []field[T] {
	return []field[T]{
		{"tilt", "deg", func(e *T) *float64 { return (*float64)(&of(e).Tilt) }},
		{"wedge", "deg", func(e *T) *float64 { return (*float64)(&of(e).Wedge) }},
		{"azimuth", "deg", func(e *T) *float64 { return (*float64)(&of(e).Azimuth) }},
	}
}
