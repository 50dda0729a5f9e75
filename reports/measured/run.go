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

// Runs sorts the rows of a table into its sweeps, coldest first.
func (t *Table) Runs() []Run {
	order := make([]int, t.Rows())
	for i := range order {
		order[i] = i
	}
	if t.Temperature != nil {
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(t.Temperature[a], t.Temperature[b]) })
	}
	var all []Run
	for i, row := range order {
		if i == 0 || t.Temperature != nil && float64(t.Temperature[row]-t.Temperature[order[i-1]]) > SameRun {
			all = append(all, Run{})
		}
		r := &all[len(all)-1]
		r.Rows = append(r.Rows, row)
	}
	for i := range all {
		rows := all[i].Rows
		if t.Temperature != nil {
			sum := 0.0
			for _, row := range rows {
				sum += float64(t.Temperature[row])
			}
			all[i].Temperature = quantity.Temperature(sum / float64(len(rows)))
		}
		slices.SortStableFunc(rows, func(a, b int) int { return cmp.Compare(t.Wavelength[a], t.Wavelength[b]) })
	}
	return all
}
