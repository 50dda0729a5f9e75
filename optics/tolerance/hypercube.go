package tolerance

import "math/rand/v2"

// Hypercube draws n points, each coordinate by its quantile function: a Latin hypercube (McKay, Beckman and Conover,
// Technometrics 21, 239, 1979), in which a coordinate takes the middles of n strata of equal probability, in random order. The
// same seed draws the same points.
func Hypercube(n int, seed uint64, quantiles ...func(p float64) float64) [][]float64 {
	rng := rand.New(rand.NewPCG(seed, 0x7e57))
	values := make([]float64, n*len(quantiles))
	points := make([][]float64, n)
	for i := range points {
		points[i] = values[i*len(quantiles) : (i+1)*len(quantiles) : (i+1)*len(quantiles)]
	}
	for j, quantile := range quantiles {
		for k, i := range rng.Perm(n) {
			points[i][j] = quantile((float64(k) + 0.5) / float64(n))
		}
	}
	return points
}
