package doe

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// Limits bound a choice of readings.
type Limits struct {
	Readings int // how many are chosen, 1 or more
	Repeats  int // the most at one place; 0: any number
	Sweeps   int // the most sweeps that they may belong to; 0: any number
}

// Choice is how often each candidate is read.
type Choice struct {
	Counts []int
	// Values holds the criterion of each problem: the variance of its combination, or the logarithm of the determinant.
	Values []float64
}

// Choose picks whole readings for several problems at once, which have their candidates in common and differ in what
// is known and in the rows: units of a lot, or what one unit may be. It minimizes the mean of the logarithms of their
// criteria. It begins with readings spread evenly and exchanges one at a time, and all of a sweep, for better ones
// until none gains (V. V. Fedorov's exchange): the result is a local optimum, and Approximate bounds what a better
// one could gain.
func Choose(ctx context.Context, problems []Problem, l Limits) (*Choice, error) {
	if err := checkAll(problems, l); err != nil {
		return nil, err
	}
	x := &exchange{ctx: ctx, problems: problems, limits: l, counts: make([]int, len(problems[0].Candidates))}
	if err := x.begin(); err != nil {
		return nil, err
	}
	for best := math.Inf(1); ; {
		if err := x.singles(); err != nil {
			return nil, err
		}
		if err := x.sweeps(); err != nil {
			return nil, err
		}
		v := x.value()
		if !(v < best-least) {
			break
		}
		best = v
	}
	c := &Choice{Counts: x.counts}
	for k := range problems {
		s, err := x.state(k)
		if err != nil {
			return nil, err
		}
		v := -s.value
		if problems[k].Combination != nil {
			v = math.Exp(s.value)
		}
		c.Values = append(c.Values, v)
	}
	return c, nil
}

// least is the fall of the criterion, a mean of logarithms, for which readings are exchanged: a choice, far below what
// matters.
const least = 1e-6

func checkAll(problems []Problem, l Limits) error {
	if len(problems) == 0 {
		return fmt.Errorf("there is no problem to choose readings for")
	}
	for k := range problems {
		if err := problems[k].check(); err != nil {
			return err
		}
		if len(problems[k].Candidates) != len(problems[0].Candidates) {
			return fmt.Errorf("problem %d has %d candidates, expected %d as the first", k+1,
				len(problems[k].Candidates), len(problems[0].Candidates))
		}
	}
	if l.Readings < 1 || l.Repeats < 0 || l.Sweeps < 0 {
		return fmt.Errorf("%d readings, %d repeats and %d sweeps: expected 1 or more readings", l.Readings, l.Repeats,
			l.Sweeps)
	}
	return nil
}

// exchange is a choice on its way.
type exchange struct {
	ctx      context.Context
	problems []Problem
	limits   Limits
	counts   []int
}

// sweep is that of a candidate.
func (x *exchange) sweep(i int) int { return x.problems[0].Candidates[i].Sweep }

// begin spreads the readings evenly over the sweeps that may be used and the candidates in each.
func (x *exchange) begin() error {
	members := map[int][]int{}
	for i := range x.counts {
		members[x.sweep(i)] = append(members[x.sweep(i)], i)
	}
	var order []int
	for s := range members {
		order = append(order, s)
	}
	slices.Sort(order)
	if n := x.limits.Sweeps; n > 0 && n < len(order) {
		order = even(order, n)
	}
	order = even(order, min(len(order), x.limits.Readings))
	left, room := x.limits.Readings, 0
	for k, s := range order {
		n := left / (len(order) - k)
		left -= n
		all := members[s]
		if x.limits.Repeats > 0 {
			room += len(all) * x.limits.Repeats
			if n > len(all)*x.limits.Repeats {
				left += n - len(all)*x.limits.Repeats
				n = len(all) * x.limits.Repeats
			}
		}
		if n == 1 && len(order) > 1 { // not at one place in all sweeps: that determines a level alone
			x.counts[all[k*(len(all)-1)/(len(order)-1)]]++
			continue
		}
		for n > 0 {
			some := even(all, min(n, len(all)))
			for _, i := range some {
				x.counts[i]++
			}
			n -= len(some)
		}
	}
	if left > 0 {
		return fmt.Errorf("%d readings do not fit: %d places in %d sweeps can be read, each %d times at most",
			x.limits.Readings, room/max(x.limits.Repeats, 1), len(order), x.limits.Repeats)
	}
	return nil
}

// even picks n of a list at equal distances, both ends among them.
func even(all []int, n int) []int {
	var some []int
	for k := range n {
		if n == 1 {
			return []int{all[len(all)/2]}
		}
		some = append(some, all[k*(len(all)-1)/(n-1)])
	}
	return some
}

// state is that of one problem with the present counts.
func (x *exchange) state(k int) (*state, error) {
	p := &x.problems[k]
	amounts := make([]float64, len(x.counts))
	for i, n := range x.counts {
		amounts[i] = p.Candidates[i].information(float64(n))
	}
	return p.at(amounts)
}

// states are those of all problems.
func (x *exchange) states() ([]*state, error) {
	all := make([]*state, len(x.problems))
	for k := range all {
		var err error
		if all[k], err = x.state(k); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// value is the mean of the criteria; infinite where the readings do not determine what is sought.
func (x *exchange) value() float64 {
	all, err := x.states()
	if err != nil {
		return math.Inf(1)
	}
	sum := 0.0
	for _, s := range all {
		sum += s.value / float64(len(all))
	}
	return sum
}

// used counts the readings of each sweep.
func (x *exchange) used() map[int]int {
	n := map[int]int{}
	for i, c := range x.counts {
		if c > 0 {
			n[x.sweep(i)] += c
		}
	}
	return n
}

// singles exchanges readings one at a time until none gains.
func (x *exchange) singles() error {
	for again := true; again; {
		again = false
		for i := range x.counts {
			for range x.counts[i] {
				moved, err := x.single(i)
				if err != nil {
					return err
				}
				again = again || moved
				if !moved {
					break
				}
			}
		}
	}
	return nil
}

// single exchanges one reading at a candidate for the best there is.
func (x *exchange) single(i int) (bool, error) {
	before := x.value()
	x.counts[i]--
	to, value, err := x.best()
	if err != nil {
		return false, err
	}
	if to < 0 || to == i || !(value < before-least) {
		x.counts[i]++
		return false, nil
	}
	x.counts[to]++
	return true, nil
}

// best is the candidate that lowers the criterion most, and the value with it; -1 where none may be read. Without it
// the readings may determine nothing, and then every candidate is tried in full.
func (x *exchange) best() (to int, value float64, err error) {
	if err := x.ctx.Err(); err != nil {
		return 0, 0, err
	}
	to, value = -1, math.Inf(1)
	used := x.used()
	states, short := x.states()
	for i := range x.counts {
		if x.limits.Repeats > 0 && x.counts[i] >= x.limits.Repeats ||
			x.limits.Sweeps > 0 && used[x.sweep(i)] == 0 && len(used) >= x.limits.Sweeps {
			continue
		}
		v := 0.0
		if short == nil {
			for k, s := range states {
				c := &x.problems[k].Candidates[i]
				n := float64(x.counts[i])
				v += s.with(c.Row, c.information(n+1)-c.information(n)) / float64(len(states))
			}
		} else {
			x.counts[i]++
			v = x.value()
			x.counts[i]--
		}
		if v < value {
			to, value = i, v
		}
	}
	return to, value, nil
}

// with is the criterion with an amount of information more at a row, by the formula for an inverse changed by one row
// (J. Sherman and W. J. Morrison, Annals of Mathematical Statistics 21, 124, 1950).
func (s *state) with(row []float64, amount float64) float64 {
	d := product(s.inverse, row, row)
	if s.solved != nil {
		return s.value + math.Log1p(-amount*s.gain(row)/(1+amount*d))
	}
	v := s.value - math.Log1p(amount*d)
	if s.errors != nil {
		e := row[s.Parameters:]
		v += math.Log1p(amount * product(s.errors, e, e))
	}
	return v
}

// sweeps tries to read other sweeps in the place of each that is used, reading by reading.
func (x *exchange) sweeps() error {
	if x.limits.Sweeps == 0 {
		return nil // single readings find new sweeps by themselves
	}
	known := map[int]bool{}
	for i := range x.counts {
		known[x.sweep(i)] = true
	}
	for s := range len(known) {
		used := x.used()
		if used[s] == 0 {
			continue
		}
		if err := x.replace(s, used[s]); err != nil {
			return err
		}
	}
	return nil
}

// replace takes the readings of a sweep out and fills up with the best ones, of whatever sweep.
func (x *exchange) replace(sweep, readings int) error {
	kept, before := slices.Clone(x.counts), x.value()
	for i := range x.counts {
		if x.sweep(i) == sweep {
			x.counts[i] = 0
		}
	}
	after := math.Inf(1)
	for range readings {
		to, value, err := x.best()
		if err != nil {
			return err
		}
		if to < 0 {
			after = math.Inf(1)
			break
		}
		x.counts[to]++
		after = value
	}
	if !(after < before-least) {
		x.counts = kept
	}
	return nil
}
