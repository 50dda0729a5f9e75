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

// Half a kelvin parts two runs that give a reading at the same wavelength: a chamber holds a sweep and its repeats to
// better, and 1 K moves isolation by nearly a decibel (a choice). What reads other wavelengths on the other side of
// such a gap is the same sweep, drifting.
const sameWavelength = 0.5

// A ramp is a stretch of temperatures that no gap parts and that is longer than any drift. Its runs are the
// plateaus that small gaps part; where it has none, stretches of SameRun (choices).
const (
	longestDrift = 5
	plateauGap   = 0.2
)

// Runs sorts the rows of a table into its sweeps, coldest first.
func (t *Table) Runs() []Run {
	if t.Temperature == nil {
		if t.Rows() == 0 {
			return nil
		}
		return []Run{t.run(sequence(t.Rows()))}
	}
	var all []Run
	for _, rows := range RunsOf(t.Temperature, t.Wavelength) {
		all = append(all, t.run(rows))
	}
	return all
}

// RunsOf sorts readings at these temperatures and wavelengths into runs, by their indices: coldest run first, and
// within a run in order of temperature. It is what everything means by a run that is read off a table, errors shared by
// run among it.
func RunsOf(ts []quantity.Temperature, ls []quantity.Length) [][]int {
	var all [][]int
	for _, chain := range chains(ts, ls) {
		if kelvins(ts, chain) <= longestDrift {
			all = append(all, chain)
			continue
		}
		for _, plateau := range cutWhere(chain, wider(ts, plateauGap)) {
			all = append(all, cutWhere(plateau,
				func(first, _, next int) bool { return float64(ts[next]-ts[first]) > SameRun })...)
		}
	}
	return all
}

// chains sorts readings by temperature and cuts them where runs end, but for ramps.
func chains(ts []quantity.Temperature, ls []quantity.Length) [][]int {
	order := sequence(len(ts))
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(ts[a], ts[b]) })
	var all [][]int
	for _, chain := range cutWhere(order, wider(ts, SameRun)) {
		parts := cutWhere(chain, wider(ts, sameWavelength))
		if len(parts) == 1 {
			all = append(all, chain)
			continue
		}
		seen := map[quantity.Length]bool{}
		from, to := 0, 0 // of chain
		for _, part := range parts {
			if slices.ContainsFunc(part, func(i int) bool { return seen[ls[i]] }) {
				all = append(all, chain[from:to:to])
				from = to
				clear(seen)
			}
			to += len(part)
			for _, i := range part {
				seen[ls[i]] = true
			}
		}
		all = append(all, chain[from:])
	}
	return all
}

// wider tells whether a gap in order of temperature is wider than so many kelvin.
func wider(ts []quantity.Temperature, gap float64) func(_, before, next int) bool {
	return func(_, before, next int) bool { return float64(ts[next]-ts[before]) > gap }
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
func kelvins(ts []quantity.Temperature, rows []int) float64 {
	return float64(ts[rows[len(rows)-1]] - ts[rows[0]])
}

// ramp returns the coldest and the hottest temperature of the first ramp; ok is false without one.
func (t *Table) ramp() (cold, hot quantity.Temperature, ok bool) {
	for _, chain := range chains(t.Temperature, t.Wavelength) {
		if len(chain) > 0 && kelvins(t.Temperature, chain) > longestDrift {
			return t.Temperature[chain[0]], t.Temperature[chain[len(chain)-1]], true
		}
	}
	return 0, 0, false
}

// run makes a run of rows.
func (t *Table) run(rows []int) Run {
	r := Run{Rows: rows}
	if t.Temperature != nil {
		r.Temperature = quantity.Temperature(mean(len(rows),
			func(k int) float64 { return float64(t.Temperature[rows[k]]) }))
	}
	slices.SortStableFunc(rows, func(a, b int) int { return cmp.Compare(t.Wavelength[a], t.Wavelength[b]) })
	return r
}
