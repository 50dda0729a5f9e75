package tolerance

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/optimize"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// Vary is a parameter of a search with the ends between which it may lie, or the values that it may have.
type Vary struct {
	Path      string              // "wedge2.axis"; "wedge1.apex, wedge2.apex" for several with the same value
	Low, High quantity.Quantity   // in the dimension of the parameter, Low below High
	Among     []quantity.Quantity // instead of them; in any order
}

// Paths are those of the parameters that have the value.
func (v Vary) Paths() []string {
	all := strings.Split(v.Path, ",")
	for i := range all {
		all[i] = strings.TrimSpace(all[i])
	}
	return all
}

// Found is where a search ended.
type Found struct {
	Stack       *stack.Stack        // with the parameters found
	At          []quantity.Quantity // the parameters varied, in the order of vary
	Bound       []bool              // which of them lie at an end of their range, to a thousandth of it
	Value       float64             // of the function at Stack
	Violation   float64             // of the requirements at Stack; 0 where they are met
	Evaluations int                 // stacks that were looked at
	LeftOut     int                 // of those, the ones that cannot be built or have no finite value
}

const (
	// scanPerParameter is how many points of the whole range are looked at for each parameter before the best of them
	// are climbed from, starts of them.
	scanPerParameter = 12
	starts           = 3
	// climbPerParameter bounds the evaluations of each climb, which ends sooner where it gains less than enough of the
	// scale of the scan.
	climbPerParameter = 60
	enough            = 1e-9
	// hopeless outweighs every value on that scale: what violates a requirement is worse than all that do not.
	hopeless = 1e4
	// atBound is how near to an end a parameter counts as at it, as a share of its range.
	atBound = 1e-3
)

// candidate is a stack of a search; without one, what cannot be built or valued.
type candidate struct {
	stack            *stack.Stack
	at               []quantity.Quantity
	value, violation float64
}

// beats reports whether a candidate is better than another.
func (c candidate) beats(d candidate) bool {
	switch {
	case c.stack == nil || d.stack == nil:
		return c.stack != nil
	case c.violation != d.violation:
		return c.violation < d.violation
	}
	return c.value > d.value
}

// scale is that of the values of a scan: a search for the least of powers and for the greatest of frequencies are
// alike on it.
type scale struct{ middle, spread float64 }

func scaleOf(all []candidate) scale {
	var values []float64
	for _, c := range all {
		if c.stack != nil {
			values = append(values, c.value)
		}
	}
	if len(values) == 0 {
		return scale{0, 1}
	}
	slices.Sort(values)
	s := scale{values[len(values)/2], values[len(values)-1] - values[0]}
	if !(s.spread > 0) {
		s.spread = max(math.Abs(s.middle), math.SmallestNonzeroFloat64)
	}
	return s
}

// cost is what is to be least: it falls with the value, and is below hopeless where nothing is violated.
func (s scale) cost(c candidate) float64 {
	switch {
	case c.stack == nil:
		return 3 * hopeless
	case c.violation > 0:
		return hopeless * (1 + c.violation/(1+c.violation))
	}
	return -math.Asinh(min(max((c.value-s.middle)/s.spread, -math.MaxFloat64), math.MaxFloat64)) // less than 711
}

// Maximize looks for the parameters at which value is greatest among stacks that meet all requirements: a scan of the
// whole range, then a search without derivatives from the best points (J. A. Nelder and R. Mead, Computer Journal 7,
// 308, 1965). It finds a greatest value near the best of the scan, not for certain the greatest of all. value returns
// with violation by how much a stack misses its requirements, 0 or less when it meets them; a stack that cannot be
// built, or has no finite value, does not count. The stack's own parameters are tried too, where they lie in range.
// value is never called twice at once, and is given stacks that treat double reflections as s does: on a stack that
// takes them coherently the search climbs ripple. An error of value ends the search, with the parameters it came up
// at; other errors are the context's, of a path that the stack does not have, of a range that does not rise, or of
// ranges without any stack.
//
// Of parameters that may have some values only, every combination is searched by itself.
func Maximize(
	ctx context.Context, s *stack.Stack, vary []Vary, value func(*stack.Stack) (v, violation float64, err error),
) (*Found, error) {
	some := func(v Vary) bool { return v.Among != nil }
	if !slices.ContainsFunc(vary, some) {
		return maximize(ctx, s, vary, value)
	}
	combinations := 1
	for _, v := range vary {
		if some(v) {
			combinations *= len(v.Among)
		}
		if combinations < 1 || combinations > mostCombinations {
			return nil, fmt.Errorf("the values of %s and those before make no or more than %d combinations", v.Path,
				mostCombinations)
		}
	}
	c := combined{stack: s, vary: vary, value: value}
	for n := range combinations {
		c.ctx = partOf(ctx, n, combinations)
		if err := c.search(n); err != nil {
			return nil, err
		}
	}
	if c.best == nil {
		return nil, c.failed
	}
	c.best.Evaluations, c.best.LeftOut = c.evaluations, c.leftOut
	return c.best, nil
}

// mostCombinations bounds those of values that are searched one by one (a choice).
const mostCombinations = 200

// combined is a search over combinations of values.
type combined struct {
	ctx   context.Context
	stack *stack.Stack
	vary  []Vary
	value func(*stack.Stack) (v, violation float64, err error)

	best                 *Found
	failed               error // why the first combination that has no stack has none
	evaluations, leftOut int
}

// search searches combination n, or looks at it where nothing else varies.
func (c *combined) search(n int) error {
	values := map[string]quantity.Quantity{}
	at := make([]quantity.Quantity, len(c.vary))
	var rest []Vary
	for j, v := range c.vary {
		if v.Among == nil {
			rest = append(rest, v)
			continue
		}
		at[j] = v.Among[n%len(v.Among)]
		n /= len(v.Among)
		for _, path := range v.Paths() {
			values[path] = at[j]
		}
	}
	s, err := c.stack.Adjusted(values)
	if err != nil {
		for path := range values {
			if _, unknown := c.stack.Parameter(path); unknown != nil {
				return unknown
			}
		}
		c.evaluations, c.leftOut, c.failed = c.evaluations+1, c.leftOut+1, cmp.Or(c.failed, err)
		return c.ctx.Err()
	}
	var f *Found
	if len(rest) > 0 {
		if f, err = maximize(c.ctx, s, rest, c.value); err != nil {
			if errors.Is(err, errNone) {
				c.failed = cmp.Or(c.failed, err)
				return nil
			}
			return err
		}
	} else {
		f = &Found{Stack: s, Evaluations: 1}
		if f.Value, f.Violation, err = c.value(s); err != nil {
			return err
		}
		f.Violation = max(f.Violation, 0)
		if math.IsNaN(f.Value) || math.IsInf(f.Value, 0) {
			c.evaluations, c.leftOut, c.failed = c.evaluations+1, c.leftOut+1, cmp.Or(c.failed, error(errNone))
			return nil
		}
		watchOf(c.ctx)(1, 1)
	}
	c.take(f, at)
	return nil
}

// take keeps the best found; at has the values of the combination.
func (c *combined) take(f *Found, at []quantity.Quantity) {
	c.evaluations, c.leftOut = c.evaluations+f.Evaluations, c.leftOut+f.LeftOut
	bound := make([]bool, len(at))
	k := 0
	for j, v := range c.vary {
		if v.Among == nil {
			at[j], bound[j] = f.At[k], f.Bound[k]
			k++
		}
	}
	f.At, f.Bound = at, bound
	if c.best == nil || (candidate{stack: f.Stack, value: f.Value, violation: f.Violation}).beats(candidate{
		stack: c.best.Stack, value: c.best.Value, violation: c.best.Violation}) {
		c.best = f
	}
}

// errNone says that a search found nothing.
var errNone = errors.New("no stack in these ranges can be built and has a finite value")

// maximize is Maximize of parameters that have ranges.
func maximize(
	ctx context.Context, s *stack.Stack, vary []Vary, value func(*stack.Stack) (v, violation float64, err error),
) (*Found, error) {
	own, err := places(s, vary)
	if err != nil {
		return nil, err
	}
	r := &search{ctx: ctx, stack: s, vary: vary, value: value, watch: watchOf(ctx)}
	from, all := r.scan(own)
	scanned, longest := len(all), climbPerParameter*len(vary)
	on := scaleOf(all)
	cost := func(u []float64) float64 {
		outside := 0.0 // of the range, where the cost rises with the distance
		for _, x := range u {
			outside += max(-x, 0) + max(x-1, 0)
		}
		y := on.cost(r.look(u))
		return y + outside*max(math.Abs(y), 1)
	}
	for k, u := range from[:min(starts, len(from))] {
		if r.failed != nil {
			break
		}
		r.done = scanned + k*longest // of the climbs before, with what they did not need
		if err := climb(cost, u); err != nil {
			return nil, err
		}
	}
	r.watch(r.total(), r.total())
	return r.end()
}

// total is how many evaluations a search may need at most.
func (r *search) total() int {
	return scanPerParameter*len(r.vary) + 1 + starts*climbPerParameter*len(r.vary)
}

// places checks the ranges and returns where the stack's own parameters lie in them, from 0 to 1 within.
func places(s *stack.Stack, vary []Vary) ([]float64, error) {
	if len(vary) == 0 {
		return nil, fmt.Errorf("a search needs at least one parameter to vary")
	}
	var own []float64
	for _, v := range vary {
		var now quantity.Quantity
		for _, path := range v.Paths() {
			p, err := s.Parameter(path)
			if err != nil {
				return nil, err
			}
			if now != (quantity.Quantity{}) && p.Dimension() != now.Dimension() {
				return nil, fmt.Errorf("%s is not in the dimension of the parameters tied to it, %s", path, now)
			}
			now = p
		}
		if v.Low.Dimension() != now.Dimension() || v.High.Dimension() != now.Dimension() {
			return nil, fmt.Errorf("the range of %s runs from %s to %s, want the dimension of %s", v.Path, v.Low,
				v.High, now)
		}
		if !(v.Low.SI() < v.High.SI()) {
			return nil, fmt.Errorf("the range of %s runs from %s to %s, want two that rise", v.Path, v.Low, v.High)
		}
		own = append(own, v.place(now))
	}
	return own, nil
}

// place is where a value lies in the range, from 0 to 1 within.
func (v Vary) place(q quantity.Quantity) float64 {
	return (q.SI() - v.Low.SI()) / (v.High.SI() - v.Low.SI())
}

// at is the value at a place in the range, or at the nearest end of it.
func (v Vary) at(place float64) quantity.Quantity {
	x := min(max(place, 0), 1)
	return quantity.FromSI(v.Low.SI()+x*(v.High.SI()-v.Low.SI()), v.Low.Unit)
}

// search is one search on its way.
type search struct {
	ctx    context.Context
	stack  *stack.Stack
	vary   []Vary
	value  func(*stack.Stack) (v, violation float64, err error)
	found  Found // the counts
	best   candidate
	failed error // why the search ends early
	watch  func(done, total int)
	done   int
}

// look evaluates the stack at a place in the ranges.
func (r *search) look(u []float64) candidate {
	if r.failed == nil {
		r.failed = r.ctx.Err()
	}
	if r.failed != nil {
		return candidate{}
	}
	r.found.Evaluations++
	r.done++
	r.watch(min(r.done, r.total()), r.total())
	c := candidate{at: make([]quantity.Quantity, len(r.vary))}
	values := map[string]quantity.Quantity{}
	var paths []string
	for j, v := range r.vary {
		c.at[j] = v.at(u[j])
		paths = append(paths, v.Path)
		for _, path := range v.Paths() {
			values[path] = c.at[j]
		}
	}
	built, err := r.stack.Adjusted(values)
	if err == nil {
		if c.value, c.violation, r.failed = r.value(built); r.failed != nil {
			if r.ctx.Err() == nil { // not ended from outside
				r.failed = Located("with %s", paths, c.at, r.failed)
			}
			return candidate{}
		}
		c.violation = max(c.violation, 0)
	}
	if err != nil || math.IsNaN(c.value) || math.IsInf(c.value, 0) || math.IsNaN(c.violation) {
		r.found.LeftOut++
		return candidate{}
	}
	c.stack = built
	if c.beats(r.best) {
		r.best = c
	}
	return c
}

// scan looks at places all over the ranges, and at own where that lies within. It returns the places, the best first,
// and what was found, in no such order.
func (r *search) scan(own []float64) (places [][]float64, all []candidate) {
	quantiles := make([]func(float64) float64, len(r.vary))
	for j := range quantiles {
		quantiles[j] = func(p float64) float64 { return p }
	}
	at := Hypercube(scanPerParameter*len(r.vary), 1, quantiles...)
	if !slices.ContainsFunc(own, func(x float64) bool { return !(x >= 0 && x <= 1) }) {
		at = append(at, own)
	}
	all = make([]candidate, len(at))
	order := make([]int, len(at))
	for n, u := range at {
		all[n], order[n] = r.look(u), n
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case all[a].beats(all[b]):
			return -1
		case all[b].beats(all[a]):
			return 1
		}
		return 0
	})
	for _, n := range order {
		places = append(places, at[n])
	}
	return places, all
}

// end returns what was found.
func (r *search) end() (*Found, error) {
	switch {
	case r.failed != nil:
		return nil, r.failed
	case r.best.stack == nil:
		return nil, errNone
	}
	f := &r.found
	f.Stack, f.At, f.Value, f.Violation = r.best.stack, r.best.at, r.best.value, r.best.violation
	for j, q := range r.best.at {
		x := r.vary[j].place(q)
		f.Bound = append(f.Bound, x < atBound || x > 1-atBound)
	}
	return f, nil
}

// climb runs the method from one place. It may evaluate on a goroutine of its own, so that a panic in cost is carried
// to the one that called.
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
	settings := &optimize.Settings{FuncEvaluations: climbPerParameter * len(from),
		Converger: &optimize.FunctionConverge{Absolute: enough, Iterations: 10 * len(from)}}
	_, err := optimize.Minimize(problem, slices.Clone(from), settings, &optimize.NelderMead{SimplexSize: 0.08})
	if panicked != nil {
		panic(panicked)
	}
	return err
}
