package face

import (
	"fmt"
	"math"
	"math/cmplx"

	"wedgework/optics/quantity"
)

// Layer is one thin film of a coating.
type Layer struct {
	Index     complex128 // n + i k, k positive for a film that absorbs
	Thickness quantity.Length
}

// Check reports a layer that cannot be: an index without a positive real part, with gain (as an absorbing
// film looks when written n - i k), or a thickness that is negative or not finite.
func (l Layer) Check() error {
	d := float64(l.Thickness)
	switch {
	case !(real(l.Index) > 0) || cmplx.IsInf(l.Index):
		return fmt.Errorf("layer index %g must have a positive, finite real part", l.Index)
	case !(imag(l.Index) >= 0):
		return fmt.Errorf("layer index %g would amplify: an absorbing film is written n + i k with k positive", l.Index)
	case !(d >= 0) || math.IsInf(d, 1):
		return fmt.Errorf("layer thickness %g nm must be zero or more", d*1e9)
	}
	return nil
}

// through carries the fields of two waves from the far plane of the layers to the near one. The result is
// smaller by exp(-damping): what decays through the layers would otherwise overflow.
//
// In a layer with q the component of N along the normal and delta = k0 q d, a field (X, Y) at the far plane
// was (cos delta X - i sin delta/eta Y, -i eta sin delta X + cos delta Y) at the near one, with eta = q for
// (Es, Ha) and eta = index^2/q for (Ea, -Hs): the characteristic matrix (Born and Wolf, 1.6.2, eq. 39 and
// 43, there for layers without loss). Both are even in q, so its sign is free.
func (f *frame) through(layers []Layer, wavelength float64, v *[2]tangent) (damping float64) {
	k0 := 2 * math.Pi / wavelength
	for i := len(layers) - 1; i >= 0; i-- {
		l := &layers[i]
		way := k0 * float64(l.Thickness)
		c, sq, qs, decay := oscillation(l.Index, f.t2, way)
		damping += decay
		n2 := l.Index * l.Index
		s12, s21 := -1i*sq, -1i*qs
		p12, p21 := -1i*qs/n2, -1i*n2*sq
		for j := range v {
			w := v[j]
			v[j] = tangent{
				c*w[0] + s12*w[1], s21*w[0] + c*w[1],
				c*w[2] + p12*w[3], p21*w[2] + c*w[3],
			}
		}
	}
	return damping
}

// oscillation returns cos delta, sin delta/q and q sin delta for delta = q way, q^2 = index^2 - t2, each
// times exp(-decay) with decay = |Im delta|.
func oscillation(index complex128, t2, way float64) (c, sq, qs complex128, decay float64) {
	if imag(index) == 0 {
		n := real(index)
		q2 := n*n - t2
		q := math.Sqrt(math.Abs(q2))
		switch {
		case q*way < 1e-160: // grazing within the film, or no film: the limit
			return 1, complex(way, 0), 0, 0
		case q2 > 0:
			sin, cos := math.Sincos(q * way)
			return complex(cos, 0), complex(sin/q, 0), complex(q*sin, 0), 0
		}
		decay = q * way
		cosh, sinh := scaledHyperbolic(decay)
		return complex(cosh, 0), complex(sinh/q, 0), complex(-q*sinh, 0), decay
	}
	q := cmplx.Sqrt(index*index - complex(t2, 0))
	if imag(q) < 0 {
		q = -q
	}
	decay = imag(q) * way
	cosh, sinh := scaledHyperbolic(decay)
	sin, cos := math.Sincos(real(q) * way)
	s := complex(sin*cosh, cos*sinh)
	return complex(cos*cosh, -sin*sinh), s / q, q * s, decay
}

// scaledHyperbolic returns cosh x and sinh x times exp(-x), for x of zero or more.
func scaledHyperbolic(x float64) (cosh, sinh float64) {
	less := -math.Expm1(-2*x) / 2
	return 1 - less, less
}
