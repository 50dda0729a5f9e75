package beam

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Clip returns the share of a Gaussian beam's power that passes a round aperture, offset from its centre: one
// less Marcum's Q of first order, 1 - Q1(2 offset/w, 2 aperture/w), with w the 1/e^2 intensity radius at
// the aperture. All lengths in one unit; the aperture is a radius.
//
// It is also the factor on the amplitude with which a mode couples into its like behind the aperture, since
// both hold the same Gaussian.
func Clip(offset, aperture, w float64) float64 {
	// Power is a Poisson mixture of incomplete gamma functions (the noncentral chi-squared distribution with two
	// degrees of freedom; from memory, and checked against quadrature).
	shift, x := 2*offset*offset/(w*w), 2*aperture*aperture/(w*w)
	if shift > 600 { // far off: the mean of the mixture is beyond any sum; the edge is as good as straight
		return 0.5 * math.Erfc(math.Sqrt2*(offset-aperture)/w)
	}
	weight, sum := math.Exp(-shift), 0.0
	for k := 0; ; k++ {
		sum += weight * mathext.GammaIncReg(float64(k+1), x)
		weight *= shift / float64(k+1)
		if float64(k) > shift && weight < 1e-17 {
			return sum
		}
	}
}
