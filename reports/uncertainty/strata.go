package uncertainty

import (
	"math"
	"math/rand/v2"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"
)

// The middles of a block's strata of equal probability, of each distribution about zero: the normal one of a standard
// deviation of one, the others of a half-width of one. Worked out when first wanted, and the same ever after.
var (
	normal      = middles(distuv.UnitNormal.Quantile)
	rectangular = middles(func(p float64) float64 { return 2*p - 1 })
	triangular  = middles(func(p float64) float64 {
		if p > 0.5 {
			return 1 - math.Sqrt(2*(1-p))
		}
		return math.Sqrt(2*p) - 1
	})
	arcsine = middles(func(p float64) float64 { return -math.Cos(math.Pi * p) })
)

func middles(quantile func(p float64) float64) func() []float64 {
	return sync.OnceValue(func() []float64 {
		m := make([]float64, block)
		for k := range m {
			m[k] = quantile((float64(k) + 0.5) / block)
		}
		return m
	})
}

// A block of trials is a lattice: trial k takes stratum (k generator^i + start) of input i, counted round, so that each
// input has every stratum once and any few of them together fill their space evenly (Korobov's rule; I. H. Sloan and S.
// Joe, Lattice Methods for Multiple Integration, Oxford 1994). Two inputs that lie as far apart fill it alike wherever
// they stand in the list (P. L'Ecuyer and C. Lemieux, Management Science 46, 1214, 2000). The generator is a choice for
// even pairs and triples, which a test measures. Starts are random (R. Cranley and T. N. L. Patterson, SIAM Journal on
// Numerical Analysis 13, 904, 1976).
const (
	generator  = 2829
	mostInputs = 250 // the first and the next would be strongly uneven; any two before are no worse than at random
)

// strata fills the column of input i with the middles of strata, moved and scaled.
func strata(column, middles []float64, i int, at, scale float64, rng *rand.Rand) {
	step, j := stepOf(i), rng.IntN(block)
	for k := range column {
		column[k] = at + scale*middles[j]
		if j += step; j >= block {
			j -= block
		}
	}
}

// stepOf is the generator to the power i, of strata counted round.
func stepOf(i int) int {
	step := 1
	for range i {
		step = step * generator % block
	}
	return step
}
