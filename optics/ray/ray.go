// Package ray refracts plane waves at plane faces between isotropic and uniaxial media.
//
// A wave is described by its wave vector over k0 = 2 pi / (vacuum wavelength), called N here, and by the
// unit vector S along which its energy travels. In an isotropic medium and for the ordinary wave the two
// are parallel; the extraordinary ray walks off. Refraction keeps the component of N along the face;
// the other component follows from the medium's own dispersion surface, solved exactly. The frame is
// fixed to the device; nothing here knows which way is forward.
//
// The dispersion surface of the extraordinary wave is (Nc/no)^2 + (Nt/ne)^2 = 1, with Nc along and Nt
// across the optic axis (A. Yariv and P. Yeh, Optical Waves in Crystals, ch. 4; from memory).
package ray

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
)

// Wave is a plane wave in one medium.
type Wave struct {
	N r3.Vec // wave vector over k0, of the length of the wave's own index
	S r3.Vec // unit vector of energy flow

	// Delay is the group delay per metre of the way along S, in s/m. It follows from the frequency
	// derivative of the dispersion surface at fixed N: moving along the surface changes nothing,
	// because S is normal to it.
	Delay float64

	// Spread is the metres of free space that diffract a beam as much as one metre of z in the medium
	// does: the mean curvature of the dispersion surface over x and y, 1/n for an isotropic medium at
	// normal incidence.
	Spread float64
}

// Uniaxial is a uniaxial medium at one wavelength and temperature.
type Uniaxial struct {
	O, E           float64 // phase indices, ordinary and principal extraordinary
	GroupO, GroupE float64 // group indices of the same; they enter Delay only
	Axis           r3.Vec  // unit vector of the optic axis, in either sense
}

// Tangential returns the part of n that lies in the face with the given unit normal: n - (n . normal) normal.
func Tangential(n, normal r3.Vec) r3.Vec {
	return r3.Sub(n, r3.Scale(r3.Dot(n, normal), normal))
}

// Refract returns the wave in an isotropic medium of the given phase and group index whose component along the face
// is t, in units of k0 (Snell's law: t is the same on both sides). The normal is the face's unit normal on the side
// to which the wave travels. It reports false when there is no such wave: total reflection.
func Refract(t, normal r3.Vec, index, group float64) (Wave, bool) {
	q2 := index*index - r3.Norm2(t)
	if q2 <= 0 {
		return Wave{}, false
	}
	n := r3.Add(t, r3.Scale(math.Sqrt(q2), normal))
	return Wave{
		N:      n,
		S:      r3.Scale(1/index, n),
		Delay:  group / quantity.LightSpeed,
		Spread: index / (n.Z * n.Z),
	}, true
}

// Ordinary is Refract for the ordinary wave, which meets a sphere of radius O.
func (u *Uniaxial) Ordinary(t, normal r3.Vec) (Wave, bool) {
	return Refract(t, normal, u.O, u.GroupO)
}

// Extraordinary is Refract for the extraordinary wave: the root of a quadratic in the component of N
// along the normal, of which the one is taken whose energy crosses the face.
func (u *Uniaxial) Extraordinary(t, normal r3.Vec) (Wave, bool) {
	io, ie := 1/(u.O*u.O), 1/(u.E*u.E)
	d := io - ie
	nc, tc := r3.Dot(normal, u.Axis), r3.Dot(t, u.Axis)
	a := d*nc*nc + ie
	b := d * tc * nc
	c := d*tc*tc + ie*r3.Norm2(t) - 1
	disc := b*b - a*c
	if disc <= 0 {
		return Wave{}, false
	}
	n := r3.Add(t, r3.Scale((math.Sqrt(disc)-b)/a, normal))
	// Half the gradient of the dispersion surface: along S, and N . grad = 1 on the surface.
	along := r3.Dot(n, u.Axis)
	grad := r3.Add(r3.Scale(ie, n), r3.Scale(d*along, u.Axis))
	size := math.Sqrt(r3.Norm2(grad))
	across2 := r3.Norm2(n) - along*along
	// The surface moves outward with frequency as its indices do: w dn/dw = group - phase index.
	grow := along*along*io*(u.GroupO-u.O)/u.O + across2*ie*(u.GroupE-u.E)/u.E
	return Wave{
		N:      n,
		S:      r3.Scale(1/size, grad),
		Delay:  (1 + grow) / (size * quantity.LightSpeed),
		Spread: (curvature(r3.Vec{X: 1}, grad, u.Axis, d, ie) + curvature(r3.Vec{Y: 1}, grad, u.Axis, d, ie)) / 2,
	}, true
}

// curvature returns by how much N.z falls behind, to second order, when the component of N along a transverse
// unit vector grows: minus the second derivative of the dispersion surface, whose half gradient is grad and whose
// matrix is ie + d axis axis^T.
func curvature(across, grad, axis r3.Vec, d, ie float64) float64 {
	v := r3.Sub(across, r3.Vec{Z: r3.Dot(grad, across) / grad.Z}) // along the surface
	along := r3.Dot(v, axis)
	return (ie*r3.Norm2(v) + d*along*along) / math.Abs(grad.Z)
}

// OrdinaryField returns the unit vector of the ordinary wave's electric field, across N and the optic
// axis, for an ordinary wave vector n.
func (u *Uniaxial) OrdinaryField(n r3.Vec) r3.Vec {
	f := r3.Cross(n, u.Axis)
	f2 := r3.Norm2(f)
	if f2 < 1e-24*r3.Norm2(n) { // along the axis the two waves are one: any field serves
		f = r3.Cross(n, r3.Vec{X: 1})
		f2 = r3.Norm2(f)
	}
	return r3.Scale(1/math.Sqrt(f2), f)
}

// Turn rotates v by the smallest rotation that carries the direction of from into that of to. It is how
// a field is handed over between a wave and another in the same plane of incidence: components along
// and across the plane, s and p, are kept.
func Turn(v, from, to r3.Vec) r3.Vec {
	a, b := r3.Scale(1/math.Sqrt(r3.Norm2(from)), from), r3.Scale(1/math.Sqrt(r3.Norm2(to)), to)
	sum := r3.Add(a, b)
	return r3.Add(r3.Sub(v, r3.Scale(r3.Dot(v, sum)/(1+r3.Dot(a, b)), sum)),
		r3.Scale(2*r3.Dot(v, a), b))
}
