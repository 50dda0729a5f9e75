package stack

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"

	"wedgework/optics/beam"
)

// What an aperture leaves of an overlap integral, against the integral itself: two Gaussian modes apart from each other
// and of unequal size at the aperture, integrated over its disc and over the plane by Gauss-Legendre quadrature.
func TestApertureAgainstQuadrature(t *testing.T) {
	s := shot{}
	s.wavelength = at
	s.coupler = beam.Coupler{SentW: 200e-6, SentZ: 5e-3, WaitingW: 150e-6, WaitingZ: 5e-3}
	c := beam.Course{Reduced: 60e-3, Sent: vec(0.4e-3, -0.2e-3), Offset: vec(60e-6, 30e-6)}
	a := &stop{at: vec(50e-6, -80e-6), reduced: 20e-3, radius: 210e-6}

	radius := func(w, z float64) float64 { return w * math.Hypot(1, z*at/(math.Pi*w*w)) }
	u, v := radius(200e-6, 15e-3), radius(150e-6, 40e-3-5e-3)
	sent, waiting := vec(50e-6+20e-3*0.4e-3, -80e-6-20e-3*0.2e-3), vec(110e-6, -50e-6)
	product := func(x, y float64) float64 {
		p, q := vec(x, y).Sub(sent), vec(x, y).Sub(waiting)
		return math.Exp(-p.Dot(p)/(u*u) - q.Dot(q)/(v*v))
	}
	disc := func(r float64) float64 {
		return quad.Fixed(func(rho float64) float64 {
			return rho * quad.Fixed(func(phi float64) float64 { return product(rho*math.Cos(phi), rho*math.Sin(phi)) },
				0,
				2*math.Pi, 80, nil, 0)
		}, 0, r, 80, nil, 0)
	}
	want := disc(a.radius) / disc(2e-3)
	if got := s.through(&c, a); math.Abs(got-want) > 1e-9 || want < 0.5 || want > 0.95 {
		t.Errorf("the aperture leaves %.12f of the overlap, want %.12f", got, want)
	}
}
