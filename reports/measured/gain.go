package measured

import (
	"fmt"
	"math"
	"slices"
)

// A passive unit has no gain. What its readings may show all the same is noise and the drift of the reference:
// leastLoss where no uncertainty is stated (connectors repeat to about that; common practice, no source), else at
// most gainFactor standard uncertainties, which one normal reading in 30,000 exceeds. A whole sweep below zero has a
// narrower bound, for the mean of many readings has little noise.
const (
	leastLoss  = -0.1 // dB
	gainFactor = 4
	leastMean  = -0.02 // dB

	mostForward = 10 // dB: more is an isolation, where a head does not say which (a choice)
)

// tolerated is how far below zero a loss of standard uncertainty u, 0 or NaN where none is stated, may be read.
func tolerated(u float64) float64 {
	if u > 0 {
		return min(leastLoss, -gainFactor*u)
	}
	return leastLoss
}

// lossless refuses losses that are gains: single readings beyond the tolerance, and sweeps with no reading above zero,
// as those of a column whose sign is turned.
func (r *reader) lossless() error {
	for _, name := range figures {
		values, k := r.Figure(name), kinds[name]
		if values == nil || k.units[0] != "dB" {
			continue
		}
		at := slices.IndexFunc(r.columns, func(c column) bool { return c.Name == name && !c.Uncertainty })
		if at < 0 {
			continue // computed from powers, and looked at there
		}
		for i, v := range values {
			if r.columns[at].assumed && v > mostForward {
				return r.refuse(r.Line[i], at+1, quote(fmt.Sprint(v)),
					fmt.Sprintf("a loss of at most %d dB forward, or a line # direction: backward", mostForward))
			}
			if v < tolerated(uAt(r.U[name], i)) {
				return r.refuse(r.Line[i], at+1, quote(fmt.Sprint(v)), "a loss, which is positive in dB")
			}
		}
		if row := r.turned(name, values); row >= 0 {
			return r.refuse(r.Line[row], at+1,
				quote(fmt.Sprint(values[row]))+", and no reading of the sweep above zero",
				"a loss, which is positive in dB")
		}
	}
	return nil
}

func uAt(u []float64, i int) float64 {
	if u == nil {
		return 0
	}
	return u[i]
}

// turned returns the first row of a unit whose readings are all below zero, by more in the median than their
// uncertainty explains; -1 for none.
func (t *Table) turned(name string, values []float64) int {
	const least = 3 // readings that a verdict on a sweep takes
	for _, rows := range t.byUnit() {
		var all []float64
		first, u := -1, 0.0
		for _, i := range rows {
			v := values[i]
			if v != v {
				continue
			}
			if v >= 0 {
				all = nil
				break
			}
			if first < 0 {
				first = i
			}
			all = append(all, v)
			if s := uAt(t.U[name], i); s > u {
				u = s
			}
		}
		if len(all) < least {
			continue
		}
		slices.Sort(all)
		if all[len(all)/2] < math.Min(leastMean, -gainFactor*u) {
			return first
		}
	}
	return -1
}

// byUnit returns the rows of each unit.
func (t *Table) byUnit() [][]int {
	if t.Units == nil {
		return [][]int{sequence(t.Rows())}
	}
	return grouped(sequence(t.Rows()), func(row int) string { return t.Units[row] })
}

// grouped parts rows by a key; the groups stand in the order of their first rows.
func grouped(rows []int, key func(row int) string) [][]int {
	at := map[string]int{}
	var all [][]int
	for _, i := range rows {
		name := key(i)
		k, ok := at[name]
		if !ok {
			k = len(all)
			at[name] = k
			all = append(all, nil)
		}
		all[k] = append(all[k], i)
	}
	return all
}
