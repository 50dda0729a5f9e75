package stack

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/element"
	"wedgework/optics/ray"
)

// field is a complex electric field vector across a direction of travel, at unit flux.
type field struct{ re, im r3.Vec }

func (f field) dot(v r3.Vec) complex128 { return complex(r3.Dot(f.re, v), r3.Dot(f.im, v)) }

func (f field) power() float64 { return r3.Norm2(f.re) + r3.Norm2(f.im) }

// each applies a real linear map.
func (f field) each(m func(r3.Vec) r3.Vec) field { return field{m(f.re), m(f.im)} }

func (f field) scale(k float64) field { return field{r3.Scale(k, f.re), r3.Scale(k, f.im)} }

// along is a times the unit vector v.
func along(a complex128, v r3.Vec) field { return field{r3.Scale(real(a), v), r3.Scale(imag(a), v)} }

func (f field) add(g field) field { return field{r3.Add(f.re, g.re), r3.Add(f.im, g.im)} }

// turn hands the field over from one direction of travel to another, s and p kept.
func (f field) turn(from, to r3.Vec) field {
	return f.each(func(v r3.Vec) r3.Vec { return ray.Turn(v, from, to) })
}

// spin rotates the field by theta about the unit axis it lies across.
func (f field) spin(axis r3.Vec, theta float64) field {
	s, c := math.Sincos(theta)
	return f.each(func(v r3.Vec) r3.Vec { return r3.Add(r3.Scale(c, v), r3.Scale(s, r3.Cross(axis, v))) })
}

// filter lets the field of a wave along n through a polarizing sheet.
func (f field) filter(s *element.Sheet, n r3.Vec) field {
	axis := r3.Unit(ray.Tangential(s.Axis, r3.Unit(n)))
	return f.scale(s.Block).add(along(f.dot(axis)*complex(s.Pass-s.Block, 0), axis))
}

// mirror returns v reflected by a plane with the given unit normal: what lies along the plane is kept.
func mirror(v, normal r3.Vec) r3.Vec { return r3.Sub(v, r3.Scale(2*r3.Dot(v, normal), normal)) }

// upward returns the unit vector along n or against it, whichever has positive z.
func upward(n r3.Vec) r3.Vec {
	u := r3.Unit(n)
	if u.Z < 0 {
		u = r3.Scale(-1, u)
	}
	return u
}
