package magnet

import "math"

// cel returns the complete elliptic integral in the generalized form
//
//	C(k, p, c, s) = int_0^{pi/2} (c cos^2 t + s sin^2 t) / ((cos^2 t + p sin^2 t) sqrt(cos^2 t + k^2 sin^2 t)) dt
//
// for k > 0 and p >= 0. It diverges as k goes to 0, where cel returns NaN.
//
// R. Bulirsch, Numer. Math. 13, 305 (1969), as written by N. Derby and S. Olbert, Am. J. Phys. 78, 229
// (2010): Bartky's form of the descending Landen transformation, which squares the error at each step.
func cel(k, p, c, s float64) float64 {
	if !(k > 0) {
		return math.NaN()
	}
	// p = 0 takes Bulirsch's other branch, where it leaves the integral K(k) of the radius of the cylinder.
	if p > 0 {
		p = math.Sqrt(p)
		s /= p
	} else {
		p, s = k, k*c
	}
	f := c
	c += s / p
	g := k / p
	s = 2 * (s + f*g)
	return descend(k, p+g, c, s)
}

// celBend returns C(k, 1, 1, -1), which is of the order of 1-k^2 and is left by cel as the difference of
// two numbers near one. It takes complement = 1-k^2 and so keeps its digits as k goes to 1, near the axis
// and far away. It diverges as k goes to 0, where it returns NaN.
func celBend(k, complement float64) float64 {
	if !(k > 0) {
		return math.NaN()
	}
	return descend(k, 1+k, 0, -2*complement/(1+k))
}

// settled is the difference of the two means at which the next step of cel would change nothing: the error
// is its square.
const settled = 1e-8

// descend runs the transformation from its first step on, with k the modulus, until the means meet.
func descend(k, p, c, s float64) float64 {
	g, m, product := 1.0, 1+k, k
	for math.Abs(g-k) > g*settled {
		k = 2 * math.Sqrt(product)
		product = k * m
		f := c
		c += s / p
		r := product / p
		s = 2 * (s + f*r)
		p += r
		g = m
		m += k
	}
	return math.Pi / 2 * (s + c*m) / (m * (m + p))
}
