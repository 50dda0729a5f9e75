package polar

import (
	"math"
	"math/cmplx"
)

// StepPhase returns the phase between the two eigenvalues of b a^-1, in radians from 0 to pi: Jones-matrix
// eigenanalysis of a part at two frequencies (B. L. Heffner, IEEE Photon. Technol. Lett. 4, 1066 (1992);
// IEC 61300-3-32). Divided by the step of angular frequency it is the differential group delay over that
// step, as long as the true phase stays below pi. Constant matrices before and behind the part, fibre leads, do
// not change it, nor does a factor of either matrix. It reports false where a has no inverse or b is singular.
func StepPhase(a, b Matrix) (phase float64, ok bool) {
	det := a.Det()
	if det == 0 || b.Det() == 0 {
		return 0, false
	}
	m := b.Mul(Matrix{{a[1][1], -a[0][1]}, {-a[1][0], a[0][0]}}).Scale(1 / det)
	mean := (m[0][0] + m[1][1]) / 2
	half := (m[0][0] - m[1][1]) / 2
	root := cmplx.Sqrt(half*half + m[0][1]*m[1][0])
	// The product of the eigenvalues is the determinant; the lesser one from it loses no digits.
	r1 := mean + root
	if d := mean - root; cmplx.Abs(d) > cmplx.Abs(r1) {
		r1 = d
	}
	r2 := m.Det() / r1
	phase = math.Abs(cmplx.Phase(r1 * cmplx.Conj(r2)))
	return phase, !math.IsNaN(phase)
}
