// Package beam holds Gaussian beams and what couples between them.
//
// A mode is round, with 1/e^2 intensity radius w0 at its waist. Its complex parameter is q = z - i zR, z
// metres past the waist, and its field exp(i k rho^2 / 2q) in the time factor exp(-i w t); zR = pi w0^2 /
// wavelength. (H. Kogelnik and T. Li, Appl. Opt. 5, 1550 (1966); from memory.)
package beam

import (
	"math"
	"math/cmplx"
)

// Vec is a pair of transverse components: an offset in metres, or the transverse part of a wave vector
// over k0, which for a small angle is the angle in radians.
type Vec struct{ X, Y float64 }

// Sub returns a - b.
func (a Vec) Sub(b Vec) Vec { return Vec{a.X - b.X, a.Y - b.Y} }

// Add returns a + b.
func (a Vec) Add(b Vec) Vec { return Vec{a.X + b.X, a.Y + b.Y} }

// Scale returns k a.
func (a Vec) Scale(k float64) Vec { return Vec{k * a.X, k * a.Y} }

// Dot returns the scalar product.
func (a Vec) Dot(b Vec) float64 { return a.X*b.X + a.Y*b.Y }

// RayleighRange returns zR of a waist w0 at a vacuum wavelength, both in metres, in air.
func RayleighRange(w0, wavelength float64) float64 { return math.Pi * w0 * w0 / wavelength }

// Coupler gives the overlap of two collimated modes, one sent through a course of plane faces, the other
// waiting for it. Lengths are in metres.
type Coupler struct {
	K        float64 // 2 pi / vacuum wavelength
	SentW    float64 // waist radius of the mode sent
	SentZ    float64 // distance from the plane of departure on to its waist
	WaitingW float64
	WaitingZ float64 // distance from its waist on to the plane of arrival
}

// Course is what a path does to a beam, told by one ray of it, the base ray. The base ray leaves the
// centre of the sent mode; all transverse components are those of wave vectors over k0.
type Course struct {
	Reduced float64 // free-space distance that diffracts as much as the path does
	Sent    Vec     // sent mode's axis less the base ray, at departure
	Base    Vec     // the base ray at arrival
	Waiting Vec     // waiting mode's axis less the base ray, at arrival
	Offset  Vec     // centre of the waiting mode less the point where the base ray arrives

	// Exponent is added to the overlap's own: the phase and the loss of the way.
	Exponent complex128
}

// Overlap returns the amplitude with which the mode sent arrives in the mode waiting, normalized to unit power,
// relative to the phase of the base ray unless the course states it. It is the overlap integral of two Gaussians with
// offset, tilt, axial gap and unequal waists, worked out in closed form; its square modulus is the result of W. B.
// Joyce and B. C. DeLoach, Appl. Opt. 23, 4187 (1984), and its phase refers tilt and offset to the waiting mode's own
// centre.
func (c *Coupler) Overlap(p *Course) complex128 {
	zs, zw := c.K*c.SentW*c.SentW/2, c.K*c.WaitingW*c.WaitingW/2
	q := complex(p.Reduced-c.SentZ, -zs) // sent mode, at arrival
	v := complex(c.WaitingZ, zw)         // conjugate of the waiting mode's
	alpha, beta := inverse(q), inverse(v)
	width := alpha - beta
	over := inverse(width)

	// A tilt against the base ray walks the sent mode's centre away from the ray on the way.
	ax, ay := p.Reduced*p.Sent.X, p.Reduced*p.Sent.Y
	bx, by := p.Offset.X, p.Offset.Y
	vx := beta*complex(bx, 0) - alpha*complex(ax, 0) + complex(p.Sent.X-p.Waiting.X, 0)
	vy := beta*complex(by, 0) - alpha*complex(ay, 0) + complex(p.Sent.Y-p.Waiting.Y, 0)

	square := alpha*complex(ax*ax+ay*ay, 0) - beta*complex(bx*bx+by*by, 0) -
		(vx*vx+vy*vy)*over
	linear := p.Waiting.Dot(p.Offset) + p.Base.Dot(p.Offset) - p.Reduced*p.Sent.Dot(p.Sent)/2
	phase := complex(0, c.K) * (square/2 + complex(linear, 0))

	size := 2 / (math.Pi * c.SentW * c.WaitingW)
	scale := complex(0, 2*math.Pi/c.K*size*zs*zw) * alpha * beta * over
	return scale * cmplx.Exp(phase+p.Exponent)
}

// inverse returns 1/z; the language's own division guards against overflow at several times the cost.
func inverse(z complex128) complex128 {
	s := 1 / (real(z)*real(z) + imag(z)*imag(z))
	return complex(real(z)*s, -imag(z)*s)
}
