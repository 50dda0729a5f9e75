// Package pairing chooses which measured parts go together, so that most units are expected to pass: films with wedges.
//
// A part of either side is known by one number, measured with a standard uncertainty. The chance that a unit of two
// parts passes is that of the true numbers lying where the margin to the limits is positive, the errors of measurement
// being normal and independent (JCGM 106:2012, clause 7, of two inputs). The pairs with the greatest sum of chances are
// found as an assignment problem (package assign), whose prices prove that no other pairs are better.
package pairing

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"

	"gonum.org/v1/gonum/floats"

	"wedgework/optics/parallel"
	"wedgework/reports/assign"
)

// Side is the parts of one side, by their measured number, in SI units.
type Side struct {
	Values   []float64
	Standard float64 // uncertainty of each, above 0
}

// Spec is what is to be paired.
type Spec struct {
	Rows, Columns Side // no more rows than columns
	// Margin returns the margin to all limits, the least one, at every pair of a number of a row and one of a column,
	// row by row: positive where a unit passes.
	Margin func(ctx context.Context, rows, columns []float64) ([]float64, error)
	Reach  float64 // by how much the column's part of a unit can be turned in assembly, either way; 0: not at all
}

// Result is the pairs.
type Result struct {
	Column   []int     // of each row
	Chance   []float64 // of each pair that it passes
	Expected float64   // number of units that pass, the sum of the chances
	Bound    float64   // that no pairs exceed
	InOrder  float64   // number of units that are expected to pass if row k is paired with column k
	Random   float64   // the same of random pairs, in the mean
	// If every unit's part is turned, within reach, to where the margin is greatest: of the pairs found, and of those
	// in order.
	Turned, TurnedInOrder float64
	Map                   Map
}

// Map is the margin over both numbers.
type Map struct {
	Rows, Columns []float64
	Margin        []float64 // row by row
}

const (
	// fewest and finest are how many nodes a map has at least and at most in each direction; half an uncertainty apart
	// between.
	fewest, finest = 81, 201
	// reachOfErrors is beyond how many standard uncertainties errors are left out: 2e-9 of them.
	reachOfErrors = 6.0
)

// Run finds the pairs. An error is the context's, that of sides that cannot be paired, or Margin's.
func Run(ctx context.Context, spec Spec) (*Result, error) {
	n, m := len(spec.Rows.Values), len(spec.Columns.Values)
	if n < 1 || n > m || m > assign.Most/n {
		return nil, fmt.Errorf("%d parts and %d parts: expected at least one on the first side, no fewer on the "+
			"second, and at most %d pairs in all", n, m, assign.Most)
	}
	for _, s := range []Side{spec.Rows, spec.Columns} {
		if !(s.Standard > 0) || math.IsInf(s.Standard, 0) {
			return nil, fmt.Errorf("a standard uncertainty of %g, expected one above 0", s.Standard)
		}
	}
	g := &chances{Spec: spec}
	var err error
	if g.Map, err = spec.over(ctx, 0); err != nil {
		return nil, err
	}
	if g.turns = g.Map; spec.Reach > 0 {
		if g.turns, err = spec.over(ctx, spec.Reach); err != nil {
			return nil, err
		}
	}
	costs, err := g.costs(ctx)
	if err != nil {
		return nil, err
	}
	found, err := assign.Solve(ctx, costs)
	if err != nil {
		return nil, err
	}
	r := &Result{Column: found.Column, Expected: -found.Total, Bound: -assign.Bound(costs, found.Prices), Map: g.Map}
	for i, j := range r.Column {
		r.Chance = append(r.Chance, -costs.At(i, j))
		r.InOrder -= costs.At(i, i)
		r.Turned += g.turned(i, j)
		r.TurnedInOrder += g.turned(i, i)
	}
	for _, c := range costs.Each {
		r.Random -= c / float64(m)
	}
	return r, nil
}

// over asks for the margin wherever parts may be, and turns of a reach take them.
func (s Spec) over(ctx context.Context, reach float64) (m Map, err error) {
	m.Rows, m.Columns = s.Rows.nodes(0), s.Columns.nodes(reach)
	m.Margin, err = s.Margin(ctx, m.Rows, m.Columns)
	return m, err
}

// nodes are the numbers at which the margin is asked for: all that the parts may have, and what turns reach.
func (s Side) nodes(reach float64) []float64 {
	far := reachOfErrors*s.Standard + reach
	low, high := slices.Min(s.Values)-far, slices.Max(s.Values)+far
	n := min(max(fewest, 1+int(math.Ceil(2*(high-low)/s.Standard))), finest)
	return floats.Span(make([]float64, n), low, high)
}

// chances works out how likely pairs are to pass.
type chances struct {
	Spec
	Map   Map
	turns Map // with what turns reach
}

// costs are the chances of all pairs, less than zero: the least of them is the greatest chance.
func (g *chances) costs(ctx context.Context) (assign.Costs, error) {
	n, m := len(g.Spec.Rows.Values), len(g.Spec.Columns.Values)
	c := assign.Costs{Rows: n, Columns: m, Each: make([]float64, n*m)}
	weights := make([]weight, m)
	for j, y := range g.Spec.Columns.Values {
		weights[j] = weigh(g.Map.Columns, y, g.Spec.Columns.Standard)
	}
	parallel.Share(runtime.GOMAXPROCS(0), n, func(next func() (int, bool)) {
		of := make([]float64, len(g.Map.Rows))
		below := make([]float64, len(g.Map.Rows))
		across := make([]float64, len(g.Map.Columns)) // chance of the row, at each number of a column
		for i, ok := next(); ok && ctx.Err() == nil; i, ok = next() {
			e := g.Spec.Rows.about(i)
			e.at(g.Map.Rows, below)
			for k := range across {
				for r := range of {
					of[r] = g.Map.Margin[r*len(g.Map.Columns)+k]
				}
				across[k] = e.positive(g.Map.Rows, below, of)
			}
			for j := range m {
				p := 0.0
				for k, w := range weights[j].of {
					p += w * across[weights[j].from+k]
				}
				c.Each[i*m+j] = -min(max(p, 0), 1)
			}
		}
	})
	return c, ctx.Err()
}

// weight is how much nodes from one on count in a mean over a normal error.
type weight struct {
	from int
	of   []float64
}

// weigh returns the weights of evenly spaced nodes about a value: the density where nodes are as close as its standard
// deviation, for which the sum over nodes is the integral to rounding, and else the nearest two by their nearness.
func weigh(nodes []float64, at, standard float64) weight {
	step := nodes[1] - nodes[0]
	if standard < step {
		from := min(max(int((at-nodes[0])/step), 0), len(nodes)-2)
		share := (at - nodes[from]) / step
		return weight{from, []float64{1 - share, share}}
	}
	from := max(int((at-reachOfErrors*standard-nodes[0])/step), 0)
	to := min(int((at+reachOfErrors*standard-nodes[0])/step)+1, len(nodes)-1)
	w, sum := weight{from: from}, 0.0
	for k := from; k <= to; k++ {
		z := (nodes[k] - at) / standard
		v := math.Exp(-z * z / 2)
		w.of, sum = append(w.of, v), sum+v
	}
	for k := range w.of {
		w.of[k] /= sum
	}
	return w
}

// normal is a number that is normal about a value.
type normal struct{ mean, standard float64 }

// about is the true number of a part.
func (s Side) about(i int) normal { return normal{s.Values[i], s.Standard} }

// below is the probability that the number is less.
func (n normal) below(x float64) float64 { return math.Erfc((n.mean-x)/(n.standard*math.Sqrt2)) / 2 }

// at fills in the probabilities that the number is below each node.
func (n normal) at(nodes, below []float64) {
	for k, x := range nodes {
		below[k] = n.below(x)
	}
}

// positive is the probability that a margin is positive, given by its values at nodes and linear between them; below is
// that of the nodes.
func (n normal) positive(nodes, below, margin []float64) float64 {
	p := 0.0
	for k := 1; k < len(nodes); k++ {
		u, v := margin[k-1], margin[k]
		a, b := below[k-1], below[k]
		switch {
		case !(u > 0) && !(v > 0) || b == a:
			continue
		case !(u > 0):
			a = n.below(nodes[k] - (nodes[k]-nodes[k-1])*v/(v-u))
		case !(v > 0):
			b = n.below(nodes[k-1] + (nodes[k]-nodes[k-1])*u/(u-v))
		}
		p += b - a
	}
	return p
}

// turned is the chance of a pair whose column's part is turned within reach to where the margin is greatest.
func (g *chances) turned(i, j int) float64 {
	ys := g.turns.Columns
	low, high := g.Spec.Columns.Values[j]-g.Spec.Reach, g.Spec.Columns.Values[j]+g.Spec.Reach
	best := make([]float64, len(g.turns.Rows))
	for r := range best {
		row := g.turns.Margin[r*len(ys) : (r+1)*len(ys)]
		best[r] = max(linear(ys, row, low), linear(ys, row, high))
		for k, y := range ys {
			if y >= low && y <= high {
				best[r] = max(best[r], row[k])
			}
		}
	}
	e, below := g.Spec.Rows.about(i), make([]float64, len(best))
	e.at(g.turns.Rows, below)
	return e.positive(g.turns.Rows, below, best)
}

// linear is a value between evenly spaced nodes.
func linear(nodes, values []float64, at float64) float64 {
	step := nodes[1] - nodes[0]
	k := min(max(int((at-nodes[0])/step), 0), len(nodes)-2)
	w := (at - nodes[k]) / step
	return (1-w)*values[k] + w*values[k+1]
}
