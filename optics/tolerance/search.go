package tolerance

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/optimize"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// Vary is a parameter of a search with the ends between which it may lie.
type Vary struct {
	Path      string
	Low, High quantity.Quantity
}

// Found is where a search ended.
type Found struct {
	Stack       *stack.Stack
	At          []quantity.Quantity // of the parameters varied
	Bound       []bool              // which of them lie at an end of their range
	Value       float64
	Violation   float64 // 0 where what the search was subject to holds
	Evaluations int
}

const (
	// scanPerParameter is how many points of the whole range are looked at for each parameter before the best of them are
	// climbed from, starts of them.
	scanPerParameter = 12
	starts           = 3
	// climbPerParameter bounds the evaluations of each climb.
	climbPerParameter = 60
	// hopeless outweighs every value: what violates a requirement is worse than all that do not.
	hopeless = 1e12
	// atBound is how near to an end a parameter counts as at it, as a share of its range.
	atBound = 1e-3
)

// Maximize looks for the parameters at which value is greatest among stacks that violate nothing: a scan of the whole
// range, then climbs without derivatives from the best places (J. A. Nelder and R. Mead, Computer Journal 7, 308, 1965). value
// returns by how much a stack misses what it is subject to, 0 or less when it does not; what cannot be built is no
// candidate. The stack's own parameters are looked at too, where they lie in range. It is never called twice at once. An error of
// value ends the search.
func Maximize(ctx context.Context, s *stack.Stack, vary []Vary, value func(*stack.Stack) (v, violation float64, err error)) (*Found, error) {
	if len(vary) == 0 {
		return nil, fmt.Errorf("a search needs at least one parameter to vary")
	}
	var own []float64
	for _, v := range vary {
		now, err := s.Parameter(v.Path)
		if err != nil {
			return nil, err
		}
		if v.Low.Dimension() != now.Dimension() || v.High.Dimension() != now.Dimension() {
			return nil, fmt.Errorf("the range of %s runs from %s to %s, want the dimension of %s", v.Path, v.Low, v.High, now)
		}
		if !(v.Low.SI() < v.High.SI()) {
			return nil, fmt.Errorf("the range of %s runs from %s to %s, want two that rise", v.Path, v.Low, v.High)
		}
		own = append(own, (now.SI()-v.Low.SI())/(v.High.SI()-v.Low.SI()))
	}
	at := func(u []float64) []quantity.Quantity {
		all := make([]quantity.Quantity, len(vary))
		for j, v := range vary {
			x := min(max(u[j], 0), 1)
			all[j] = quantity.FromSI(v.Low.SI()+x*(v.High.SI()-v.Low.SI()), v.Low.Unit)
		}
		return all
	}
	best := &Found{Violation: math.Inf(1)}
	least := math.Inf(1)
	count := 0
	var failed error
	// cost is what is to be least; outside of the range it rises with the distance.
	cost := func(u []float64) float64 {
		if failed == nil {
			failed = ctx.Err()
		}
		if failed != nil {
			return math.Inf(1)
		}
		outside := 0.0
		for _, x := range u {
			outside += max(-x, 0) + max(x-1, 0)
		}
		values := map[string]quantity.Quantity{}
		for j, q := range at(u) {
			values[vary[j].Path] = q
		}
		count++
		c, err := s.Adjusted(values)
		if err != nil {
			return 2 * hopeless * (1 + outside)
		}
		v, violation, err := value(c)
		if err != nil {
			failed = err
			return math.Inf(1)
		}
		y := -v
		switch {
		case math.IsNaN(v):
			y = 2 * hopeless
		case violation > 0:
			y = hopeless * (1 + violation/(1+violation))
		}
		if y < least {
			least = y
			best.Stack, best.At, best.Value, best.Violation = c, at(u), v, max(violation, 0)
		}
		return y + outside*max(math.Abs(y), 1)
	}
	quantiles := make([]func(float64) float64, len(vary))
	for j := range quantiles {
		quantiles[j] = func(p float64) float64 { return p }
	}
	scan := Hypercube(scanPerParameter*len(vary), 1, quantiles...)
	if !slices.ContainsFunc(own, func(x float64) bool { return !(x >= 0 && x <= 1) }) {
		scan = append(scan, own)
	}
	type place struct {
		u []float64
		y float64
	}
	var places []place
	for _, u := range scan {
		places = append(places, place{u, cost(u)})
	}
	slices.SortStableFunc(places, func(a, b place) int { return cmp.Compare(a.y, b.y) })
	for _, p := range places[:min(starts, len(places))] {
		if failed != nil {
			break
		}
		if err := climb(cost, p.u); err != nil {
			return nil, err
		}
	}
	switch {
	case failed != nil:
		return nil, failed
	case best.Stack == nil:
		return nil, fmt.Errorf("no stack in these ranges can be built and valued")
	}
	best.Evaluations = count
	for j, q := range best.At {
		x := (q.SI() - vary[j].Low.SI()) / (vary[j].High.SI() - vary[j].Low.SI())
		best.Bound = append(best.Bound, x < atBound || x > 1-atBound)
	}
	return best, nil
}

// climb runs the method from one place. It may evaluate on a goroutine of its own, so that a panic in cost is carried to the
// one that called.
func climb(cost func(u []float64) float64, from []float64) error {
	var panicked any
	problem := optimize.Problem{Func: func(u []float64) (y float64) {
		defer func() {
			if r := recover(); r != nil {
				panicked, y = r, math.Inf(1)
			}
		}()
		if panicked != nil {
			return math.Inf(1)
		}
		return cost(u)
	}}
	settings := &optimize.Settings{FuncEvaluations: climbPerParameter * len(from), Converger: &optimize.FunctionConverge{Absolute: 1e-7, Iterations: 10 * len(from)}}
	_, err := optimize.Minimize(problem, slices.Clone(from), settings, &optimize.NelderMead{SimplexSize: 0.08})
	if panicked != nil {
		panic(panicked)
	}
	return err
}
