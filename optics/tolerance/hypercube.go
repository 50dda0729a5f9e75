package tolerance

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// Hypercube samples n points with one coordinate per quantile function, points[i][j] for coordinate j of point i: a
// Latin hypercube (M. D. McKay, R. J. Beckman and W. J. Conover, Technometrics 21, 239, 1979), in which a coordinate
// takes the middles of n strata of equal probability, p = (k+1/2)/n, in random order. The same seed gives the same
// points.
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

// Farthest returns the indices of points in falling order of their distance from the centre, each coordinate counted
// in its scale; a coordinate of scale 0 does not count. Far points are where a response surface is most likely to be
// wrong.
func Farthest(points [][]float64, centre, scale []float64) []int {
	order := make([]int, len(points))
	distance := make([]float64, len(points))
	for t, x := range points {
		order[t] = t
		for j, v := range x {
			if scale[j] > 0 {
				distance[t] += math.Pow((v-centre[j])/scale[j], 2)
			}
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(distance[b], distance[a]) })
	return order
}
