// Package polar holds the polarization algebra: Jones matrices in the device frame and the figures that
// follow from them. Jones vectors are (Ex, Ey) for both directions of travel, with the time factor
// exp(-i w t).
package polar

import (
	"math"
	"math/cmplx"
)

// Matrix is a 2x2 Jones matrix, row by row: the field that arrives over the field that was launched, both at unit
// flux, so that its singular values are square roots of power transmissions.
type Matrix [2][2]complex128

// Mul returns a b.
func (a Matrix) Mul(b Matrix) Matrix {
	var m Matrix
	for i := range 2 {
		for j := range 2 {
			m[i][j] = a[i][0]*b[0][j] + a[i][1]*b[1][j]
		}
	}
	return m
}

// Add returns a + b: fields that interfere.
func (a Matrix) Add(b Matrix) Matrix {
	for i := range 2 {
		for j := range 2 {
			a[i][j] += b[i][j]
		}
	}
	return a
}

// Scale returns k a.
func (a Matrix) Scale(k complex128) Matrix {
	for i := range 2 {
		for j := range 2 {
			a[i][j] *= k
		}
	}
	return a
}

// Det returns the determinant.
func (a Matrix) Det() complex128 { return a[0][0]*a[1][1] - a[0][1]*a[1][0] }

// Gram is H, the Hermitian matrix of sum M^dagger M: the power that arrives for launch state u is u^dagger H u.
type Gram struct {
	XX, YY float64    // power transmissions of light launched along x and along y
	XY     complex128 // their coherence, row x, column y
}

// Add adds the power of one matrix to h; matrices so added do not interfere.
func (h *Gram) Add(m Matrix) {
	h.XX += abs2(m[0][0]) + abs2(m[1][0])
	h.YY += abs2(m[0][1]) + abs2(m[1][1])
	h.XY += cmplx.Conj(m[0][0])*m[0][1] + cmplx.Conj(m[1][0])*m[1][1]
}

// AddGram adds the power of light that does not interfere with that of h.
func (h *Gram) AddGram(g Gram) {
	h.XX += g.XX
	h.YY += g.YY
	h.XY += g.XY
}

// Beat adds what two matrices interfere by, as far as it is visible: visible (a^dagger b + b^dagger a), with visible
// from 0 to 1. Their own powers are added by Add.
func (h *Gram) Beat(a, b Matrix, visible float64) {
	for i := range 2 {
		h.XX += 2 * visible * real(cmplx.Conj(a[i][0])*b[i][0])
		h.YY += 2 * visible * real(cmplx.Conj(a[i][1])*b[i][1])
		h.XY += complex(visible, 0) * (cmplx.Conj(a[i][0])*b[i][1] + cmplx.Conj(b[i][0])*a[i][1])
	}
}

// Ripple is how two kinds of arrivals that are added in power move the response as the phase between them runs: the
// variances of the mean power (t1+t2)/2, and of the greatest, t1, about what it is without.
type Ripple struct {
	Mean float64 // variance of (t1+t2)/2, a power transmission squared
	T1   float64 // variance of t1, at most
	DGD  float64 // variance of the differential group delay, in s^2
}

// Split is the part of T1 that splits t1 and t2: a variance of (t1-t2)/2 where they are equal, of all three components
// of the vector whose length that is.
func (r Ripple) Split() float64 { return r.T1 - r.Mean }

// Beat adds the ripple of two arrivals; z is the sum of a^dagger b over their depolarization modes. With phase p their
// beat moves H by z exp(ip) + its adjoint. The mean power moves by the real part of the trace, and where t1 and t2 are
// equal, t1 by that and by how far the rest splits them; elsewhere by no more.
func (r *Ripple) Beat(z Matrix) {
	mean := abs2(z[0][0]+z[1][1]) / 2
	r.Mean += mean
	r.T1 += mean + abs2(z[0][0]-z[1][1])/2 + abs2(z[0][1]) + abs2(z[1][0])
}

// Adjoint returns the conjugate transpose.
func (a Matrix) Adjoint() Matrix {
	return Matrix{{cmplx.Conj(a[0][0]), cmplx.Conj(a[1][0])}, {cmplx.Conj(a[0][1]), cmplx.Conj(a[1][1])}}
}

// rounding is what is left of a difference of two equal numbers that were summed from four products each.
const rounding = 4 * 0x1p-52

// Extremes returns the eigenvalues of H, the greatest and the least power transmission over all states of
// polarization: PDL is 10 log10(t1/t2) (IEC 61300-3-2), the mean transmission (t1+t2)/2. The least is zero where the
// rounding of H hides it, some 156 dB below the greatest.
func (h Gram) Extremes() (t1, t2 float64) {
	mean := (h.XX + h.YY) / 2
	half := (h.XX - h.YY) / 2
	r := math.Sqrt(half*half + abs2(h.XY))
	t1 = mean + r
	// The lesser one from the determinant: a difference of two equal numbers would lose it.
	if t1 > 0 {
		if det := h.XX*h.YY - abs2(h.XY); det > rounding*h.XX*h.YY {
			t2 = det / t1
		}
	}
	return t1, t2
}

// Delays returns the group delays of the two principal states, greatest first, in seconds: the real parts
// of the eigenvalues of -i (dM/dw) M^-1 (B. L. Heffner, IEEE Photon. Technol. Lett. 4, 1066 (1992)).
// derivative is dM/dw. It reports false where M has no inverse, or so nearly none that the delays would be rounding:
// one polarization arrives a trillionth as strong in amplitude as the other (240 dB; a choice).
func Delays(m, derivative Matrix) (slow, fast float64, ok bool) {
	det := m.Det()
	const least = 1e-12
	if !(cmplx.Abs(det) > least*(abs2(m[0][0])+abs2(m[0][1])+abs2(m[1][0])+abs2(m[1][1]))) {
		return 0, 0, false
	}
	inverse := Matrix{{m[1][1], -m[0][1]}, {-m[1][0], m[0][0]}}
	d := derivative.Mul(inverse).Scale(-1i / det)
	mean := (d[0][0] + d[1][1]) / 2
	half := (d[0][0] - d[1][1]) / 2
	root := cmplx.Sqrt(half*half + d[0][1]*d[1][0])
	a, b := real(mean+root), real(mean-root)
	return max(a, b), min(a, b), true
}

// DelayRipple returns the variance of the differential group delay of a matrix m to which arrivals are added whose
// phases are independent of each other, in s^2, to first order in the arrivals; each is a matrix and its derivative
// over w. An arrival g moves D = -i (dM/dw) M^-1 by Z = -i (dg/dw - (dM/dw) M^-1 g) M^-1 times its phase, and the
// difference of the eigenvalues by the trace of Z with the difference of the projectors on them. Where that difference
// is less than it is moved by, it is the length of a vector without a direction of its own, and the variance is that of
// one of its three components, at most. It is 0 where m has no inverse.
func DelayRipple(m, derivative Matrix, arrivals [][2]Matrix) float64 {
	inverse, ok := m.Inverse()
	if !ok {
		return 0
	}
	d := derivative.Mul(inverse).Scale(-1i)
	half := (d[0][0] - d[1][1]) / 2
	root := cmplx.Sqrt(half*half + d[0][1]*d[1][0])
	along, all := 0.0, 0.0
	for _, g := range arrivals {
		z := g[1].Scale(-1i).Add(d.Mul(g[0]).Scale(-1)).Mul(inverse)
		all += abs2(z[0][0]-z[1][1])/2 + abs2(z[0][1]) + abs2(z[1][0])
		if root != 0 {
			along += abs2((half*(z[0][0]-z[1][1])+d[0][1]*z[1][0]+d[1][0]*z[0][1])/root) / 2
		}
	}
	if 4*abs2(root) < all {
		return all / 3
	}
	return along
}

func abs2(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// Identity returns the matrix that leaves light as it is.
func Identity() Matrix { return Matrix{{1, 0}, {0, 1}} }

// Inverse returns the inverse; false where the matrix has none to within rounding.
func (a Matrix) Inverse() (Matrix, bool) {
	det, size := a.Det(), abs2(a[0][0])+abs2(a[0][1])+abs2(a[1][0])+abs2(a[1][1])
	if !(cmplx.Abs(det) > 1e-14*size) {
		return Matrix{}, false
	}
	return Matrix{{a[1][1], -a[0][1]}, {-a[1][0], a[0][0]}}.Scale(1 / det), true
}

// Root returns the positive root of a Hermitian matrix without negative eigenvalues, from its trace and determinant.
func (a Matrix) Root() Matrix {
	det := math.Sqrt(max(0, real(a.Det())))
	trace := real(a[0][0]) + real(a[1][1]) + 2*det
	if !(trace > 0) {
		return Matrix{}
	}
	return a.Add(Identity().Scale(complex(det, 0))).Scale(complex(1/math.Sqrt(trace), 0))
}

// Norm returns the greatest singular value: the amplitude with which the best state passes.
func (a Matrix) Norm() float64 {
	var h Gram
	h.Add(a)
	t1, _ := h.Extremes()
	return math.Sqrt(t1)
}
