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

// strata fills a column with the middles of strata, moved and scaled, in random order (Fisher and Yates, inside out).
func strata(column, middles []float64, at, scale float64, rng *rand.Rand) {
	for k, m := range middles {
		j := int(uint64(rng.Uint32()) * uint64(k+1) >> 32)
		column[k] = column[j]
		column[j] = at + scale*m
	}
}
