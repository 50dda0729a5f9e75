package polar

import "math"

// Crossing is power by two perpendicular axes at either end: element ij is what arrives along axis i of light launched
// along axis j at unit power. What interferes is added before, what does not as power: depolarized light counts.
type Crossing [2][2]float64

// Between returns the matrix in axes of its ends: launched light by those at the azimuth from and from + 90 deg,
// received light by those at to and to + 90 deg, both in radians.
func (a Matrix) Between(from, to float64) Matrix {
	s, c := math.Sincos(from)
	a = a.Mul(Matrix{{complex(c, 0), complex(-s, 0)}, {complex(s, 0), complex(c, 0)}})
	s, c = math.Sincos(to)
	return Matrix{{complex(c, 0), complex(s, 0)}, {complex(-s, 0), complex(c, 0)}}.Mul(a)
}

// Add adds the light of one Jones matrix, which is stated in the axes; matrices so added do not interfere.
func (x *Crossing) Add(m Matrix) {
	for i := range 2 {
		for j := range 2 {
			x[i][j] += abs2(m[i][j])
		}
	}
}

// Beat adds what two matrices interfere by, as far as it is visible, from 0 to 1. What each brings is added by Add.
func (x *Crossing) Beat(a, b Matrix, visible float64) {
	for i := range 2 {
		for j := range 2 {
			p, q := a[i][j], b[i][j]
			x[i][j] += 2 * visible * (real(p)*real(q) + imag(p)*imag(q))
		}
	}
}

// Mixed returns what is left behind two fibres that each put a share of the power of one axis into the other, from 0
// to 1/2 and without a phase to the rest: the share before of what is launched, and the share after of what arrives.
func (x Crossing) Mixed(before, after float64) Crossing {
	for i := range x {
		a, b := x[i][0], x[i][1]
		x[i] = [2]float64{a + before*(b-a), b + before*(a-b)}
	}
	for j := range 2 {
		a, b := x[0][j], x[1][j]
		x[0][j], x[1][j] = a+after*(b-a), b+after*(a-b)
	}
	return x
}
