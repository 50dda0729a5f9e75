package tolerance

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// Compromise is a stack of which no other found is as good in every goal and better in one.
type Compromise struct {
	Stack  *stack.Stack
	At     []quantity.Quantity // the parameters varied, in the order of vary
	Values []float64           // of the goals
}

const (
	// MostGoals is how many goals a front has at most.
	MostGoals = 3
	// smooth is how much the sum of all goals counts beside the one that is farthest behind, so that of stacks alike in
	// that the better one is found.
	smooth = 1e-3
)

// Front looks for the stacks between which only a choice among goals decides: those that maximize one goal each, and
// for weights between them those whose goal farthest behind is greatest (V. J. Bowman, in Multiple Criteria Decision
// Making, 76, Springer 1976), by Maximize. Those that violate nothing and that no other dominates are returned, in
// falling order of the first goal; none where nothing in the ranges meets the requirements. Errors are as of Maximize.
func Front(ctx context.Context, s *stack.Stack, vary []Vary, goals int,
	value func(*stack.Stack) (v []float64, violation float64, err error)) ([]Compromise, int, error) {
	if goals < 2 || goals > MostGoals {
		return nil, 0, fmt.Errorf("%d goals, expected 2 to %d", goals, MostGoals)
	}
	evaluations := 0
	searches, done := goals+len(weights(goals)), 0
	var front []Compromise
	search := func(of func(v []float64) float64) error {
		part := partOf(ctx, done, searches)
		done++
		found, err := Maximize(part, s, vary, func(c *stack.Stack) (float64, float64, error) {
			v, violation, err := value(c)
			if err != nil {
				return 0, 0, err
			}
			return of(v), violation, nil
		})
		if err != nil {
			return err
		}
		evaluations += found.Evaluations
		if found.Violation > 0 {
			return nil
		}
		v, _, err := value(found.Stack)
		front = insert(front, Compromise{Stack: found.Stack, At: found.At, Values: slices.Clone(v)})
		return err
	}
	for k := range goals {
		if err := search(func(v []float64) float64 { return v[k] }); err != nil {
			return nil, 0, err
		}
	}
	low, high := span(front, goals)
	for _, w := range weights(goals) {
		err := search(func(v []float64) float64 {
			behind, sum := math.Inf(1), 0.0
			for k, x := range v {
				x = (x - low[k]) / (high[k] - low[k])
				behind, sum = min(behind, x/w[k]), sum+x
			}
			return behind + smooth*sum
		})
		if err != nil {
			return nil, 0, err
		}
	}
	slices.SortStableFunc(front, func(a, b Compromise) int { return cmp.Compare(b.Values[0], a.Values[0]) })
	return front, evaluations, nil
}

// insert adds a stack to those that none dominates, and drops those that it dominates.
func insert(front []Compromise, c Compromise) []Compromise {
	for _, o := range front {
		if Dominates(o.Values, c.Values) || slices.Equal(o.Values, c.Values) {
			return front
		}
	}
	return append(slices.DeleteFunc(front, func(o Compromise) bool { return Dominates(c.Values, o.Values) }), c)
}

// Dominates reports whether a is as good as b in every value, and better in one; greater is better, and NaN is not
// comparable.
func Dominates(a, b []float64) bool {
	better := false
	for k := range a {
		if !(a[k] >= b[k]) {
			return false
		}
		better = better || a[k] > b[k]
	}
	return better
}

// span is from where to where the goals go over a front; one that does not vary has a span of one.
func span(front []Compromise, goals int) (low, high []float64) {
	for k := range goals {
		l, h := math.Inf(1), math.Inf(-1)
		for _, c := range front {
			l, h = min(l, c.Values[k]), max(h, c.Values[k])
		}
		if !(h > l) {
			h = l + 1
		}
		if math.IsInf(l, 0) { // nothing meets the requirements
			l, h = 0, 1
		}
		low, high = append(low, l), append(high, h)
	}
	return low, high
}

// weights are those between the goals: twelfths of two, sixths of three, none of them zero.
func weights(goals int) (all [][]float64) {
	if goals == 2 {
		for i := 1.0; i < 12; i++ {
			all = append(all, []float64{i / 12, 1 - i/12})
		}
		return all
	}
	for i := 1.0; i < 5; i++ {
		for j := 1.0; i+j < 6; j++ {
			all = append(all, []float64{i / 6, j / 6, 1 - (i+j)/6})
		}
	}
	return all
}
