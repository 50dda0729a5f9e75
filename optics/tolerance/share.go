package tolerance

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"wedgework/optics/parallel"
)

const (
	// fewest is how many units shares are asked of: of fewer, chance alone would show more than a tenth.
	fewest = 50
	// mostGroups is into how many groups of units alike in a parameter they are told apart, each of at least groupOf.
	mostGroups = 50
	groupOf    = 20
)

// Shares returns the share, from 0 to 1, of a figure's variance over the units that each parameter explains by
// itself, in the order of Paths; nil for fewer than 50 units. It is the correlation ratio, the variance of the means
// of units alike in that parameter over the variance of all (M. D. McKay, Reliability Engineering and System Safety
// 57, 267, 1997), freed of the part that chance alone would show (T. L. Kelley, Proceedings of the National Academy
// of Sciences 21, 554, 1935). Within a group of units alike the mean follows a line, so that a parameter that
// explains everything has all of the variance, however wide the groups are. The difference of their sum from 1 is
// interactions, the variance that no single parameter explains: of two angles whose sum matters, near a null all of
// it.
func (o *Outcome) Shares(figure int) []float64 {
	values := o.Values[figure]
	n := len(values)
	if n < fewest {
		return nil
	}
	groups := min(mostGroups, n/groupOf)
	shares := make([]float64, len(o.Paths))
	total := 0.0
	mean := stat.Mean(values, nil)
	for _, v := range values {
		total += (v - mean) * (v - mean)
	}
	if total == 0 {
		return shares
	}
	_ = parallel.Each(len(shares), func(j int) error { // it has no errors
		order := o.ordered(j, values)
		rest, free := 0.0, n
		for g := range groups {
			left, terms := besidesLine(order[g*n/groups : (g+1)*n/groups])
			rest, free = rest+left, free-terms
		}
		shares[j] = max(0, 1-rest/float64(free)/(total/float64(n-1)))
		return nil
	})
	return shares
}

// Chance returns the share that a parameter without effect shows in about one study of forty: two standard deviations
// of a sum of as many squares as the lines have terms.
func (o *Outcome) Chance() float64 {
	n := len(o.Values[0])
	return 2 * math.Sqrt(4*float64(min(mostGroups, n/groupOf))) / float64(n)
}

// placed is a unit: where a parameter has it, and its figure.
type placed struct {
	x, y float64
	unit int
}

// besidesLine returns the sum of squares that a line in a parameter leaves of the values of some units in its order,
// and of how many terms the line is: one where they are all the same in it.
func besidesLine(units []placed) (rest float64, terms int) {
	x, y := 0.0, 0.0
	for _, u := range units {
		x += u.x / float64(len(units))
		y += u.y / float64(len(units))
	}
	xx, xy, yy := 0.0, 0.0, 0.0
	for _, u := range units {
		dx, dy := u.x-x, u.y-y
		xx, xy, yy = xx+dx*dx, xy+dx*dy, yy+dy*dy
	}
	if units[0].x == units[len(units)-1].x {
		return yy, 1
	}
	return max(yy-xy*xy/xx, 0), 2
}

// ordered returns the units in the order of a parameter.
func (o *Outcome) ordered(j int, values []float64) []placed {
	all := make([]placed, len(values))
	for t, v := range values {
		all[t] = placed{o.draw(t, j), v, t}
	}
	slices.SortFunc(all, func(a, b placed) int { return cmp.Or(cmp.Compare(a.x, b.x), a.unit-b.unit) })
	return all
}
