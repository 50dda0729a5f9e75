package measured

import (
	"cmp"
	"slices"

	"wedgework/optics/quantity"
)

// Run is the rows of a table at one temperature, in order of wavelength.
type Run struct {
	Temperature quantity.Temperature // mean; zero in a trace without temperatures
	Rows        []int
}

// SameRun is how far apart, in kelvin, neighbouring temperatures of one run may lie: more than a chamber
// drifts during a sweep, less than the steps it is set in (a choice).
const SameRun = 2

// A ramp is a stretch of temperatures that no gap of SameRun parts and that is longer than any drift. Its runs are the
// plateaus that small gaps part; where it has none, stretches of SameRun (choices).
const (
	longestDrift = 5
	plateauGap   = 0.2
)

// Runs sorts the rows of a table into its sweeps, coldest first.
func (t *Table) Runs() []Run {
	order := sequence(t.Rows())
	if t.Temperature == nil {
		if len(order) == 0 {
			return nil
		}
		return []Run{t.run(order)}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(t.Temperature[a], t.Temperature[b]) })
	var all []Run
	for _, chain := range t.parted(order, SameRun) {
		if t.kelvins(chain) <= longestDrift {
			all = append(all, t.run(chain))
			continue
		}
		for _, plateau := range t.parted(chain, plateauGap) {
			for _, rows := range t.stretches(plateau) {
				all = append(all, t.run(rows))
			}
		}
	}
	return all
}

// parted cuts rows in order of temperature where a gap is wider than so many kelvin.
func (t *Table) parted(rows []int, gap float64) [][]int {
	return cutWhere(rows, func(_, before, next int) bool { return float64(t.Temperature[next]-t.Temperature[before]) > gap })
}

// stretches cuts rows in order of temperature into parts that span SameRun at most.
func (t *Table) stretches(rows []int) [][]int {
	return cutWhere(rows, func(first, _, next int) bool { return float64(t.Temperature[next]-t.Temperature[first]) > SameRun })
}

// cutWhere cuts rows before each one that is apart from the first of its part or from the one before.
func cutWhere(rows []int, apart func(first, before, next int) bool) [][]int {
	var parts [][]int
	from := 0
	for i := range rows {
		if i+1 == len(rows) || apart(rows[from], rows[i], rows[i+1]) {
			parts = append(parts, rows[from:i+1:i+1])
			from = i + 1
		}
	}
	return parts
}

// kelvins is what rows in order of temperature span.
func (t *Table) kelvins(rows []int) float64 {
	return float64(t.Temperature[rows[len(rows)-1]] - t.Temperature[rows[0]])
}

// ramp returns the coldest and the hottest temperature of the first ramp; ok is false without one.
func (t *Table) ramp() (cold, hot quantity.Temperature, ok bool) {
	if t.Temperature == nil {
		return 0, 0, false
	}
	order := sequence(t.Rows())
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(t.Temperature[a], t.Temperature[b]) })
	for _, chain := range t.parted(order, SameRun) {
		if t.kelvins(chain) > longestDrift {
			return t.Temperature[chain[0]], t.Temperature[chain[len(chain)-1]], true
		}
	}
	return 0, 0, false
}

// run makes a run of rows.
func (t *Table) run(rows []int) Run {
	r := Run{Rows: rows}
	if t.Temperature != nil {
		r.Temperature = quantity.Temperature(mean(len(rows), func(k int) float64 { return float64(t.Temperature[rows[k]]) }))
	}
	slices.SortStableFunc(rows, func(a, b int) int { return cmp.Compare(t.Wavelength[a], t.Wavelength[b]) })
	return r
}

// runOf returns the index of each row's run.
func (t *Table) runOf() []int {
	of := make([]int, t.Rows())
	for n, r := range t.Runs() {
		for _, i := range r.Rows {
			of[i] = n
		}
	}
	return of
}
