package tolerance

import (
	"cmp"
	"slices"
)

// Shares returns which part of a figure's variance over the units goes with each parameter by itself, in the order of Paths:
// the correlation ratio, the variance of the means of units alike in that parameter over the variance of all (M. D. McKay,
// Reliability Engineering and System Safety 57, 267, 1997), freed of the part that chance alone would show (T. L. Kelley,
// Proceedings of the National Academy of Sciences 21, 554, 1935). What is missing to 1 is of parameters acting together: of two
// angles whose sum matters, near a null all of it.
func (o *Outcome) Shares(figure int) []float64 {
	values := o.Values[figure]
	n := len(values)
	groups := min(50, n/10)
	shares := make([]float64, len(o.Paths))
	mean := 0.0
	for _, v := range values {
		mean += v / float64(n)
	}
	total := 0.0
	for _, v := range values {
		total += (v - mean) * (v - mean)
	}
	if groups < 2 || total == 0 {
		return shares
	}
	for j, order := range o.orders() {
		between := 0.0
		for g := range groups {
			in := order[g*n/groups : (g+1)*n/groups]
			sum := 0.0
			for _, t := range in {
				sum += values[t]
			}
			d := sum/float64(len(in)) - mean
			between += d * d * float64(len(in))
		}
		ratio := between / total
		shares[j] = max(0, 1-(1-ratio)*float64(n-1)/float64(n-groups))
	}
	return shares
}

// orders returns the units in the order of each parameter; for a study of hundreds of thousands it is worked out once.
func (o *Outcome) orders() [][]int {
	o.ordered.Do(func() {
		o.order = make([][]int, len(o.Paths))
		for j := range o.order {
			o.order[j] = make([]int, len(o.draws))
			for t := range o.order[j] {
				o.order[j][t] = t
			}
			slices.SortFunc(o.order[j], func(a, b int) int { return cmp.Compare(o.draws[a][j], o.draws[b][j]) })
		}
	})
	return o.order
}
