package vocab

import (
	"cmp"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/measured"
)

// run is the rows of a table at one temperature, in order of wavelength.
type run struct {
	temperature quantity.Temperature // mean
	rows        []int
}

// sameRun is how far apart, in kelvin, neighbouring temperatures of one run may lie: more than a chamber
// drifts during a sweep, less than the steps it is set in (a choice).
const sameRun = 2

// runs sorts the rows of a table into its sweeps, coldest first.
func runs(t *measured.Table) []run {
	order := make([]int, t.Rows())
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(t.Temperature[a], t.Temperature[b])
	})
	var all []run
	for i, row := range order {
		if i == 0 || float64(t.Temperature[row]-t.Temperature[order[i-1]]) > sameRun {
			all = append(all, run{})
		}
		r := &all[len(all)-1]
		r.rows = append(r.rows, row)
	}
	for i := range all {
		sum := 0.0
		for _, row := range all[i].rows {
			sum += float64(t.Temperature[row])
		}
		all[i].temperature = quantity.Temperature(sum / float64(len(all[i].rows)))
		slices.SortStableFunc(all[i].rows, func(a, b int) int {
			return cmp.Compare(t.Wavelength[a], t.Wavelength[b])
		})
	}
	return all
}

// subset returns the rows of a table for which keep holds, in the order of the file.
func subset(t *measured.Table, keep func(row int) bool) *measured.Table {
	s := *t
	var rows []int
	for i := range t.Rows() {
		if keep(i) {
			rows = append(rows, i)
		}
	}
	s.Wavelength, s.Temperature = take(t.Wavelength, rows), take(t.Temperature, rows)
	s.Isolation, s.InsertionLoss, s.PDL = take(t.Isolation, rows), take(t.InsertionLoss, rows), take(t.PDL, rows)
	s.DGD, s.ReturnLoss = take(t.DGD, rows), take(t.ReturnLoss, rows)
	s.Repeat, s.Units, s.Lots, s.Line = take(t.Repeat, rows), take(t.Units, rows), take(t.Lots, rows), take(t.Line, rows)
	s.U = map[string][]float64{}
	for name, u := range t.U {
		s.U[name] = take(u, rows)
	}
	s.Columns = slices.Clone(t.Columns)
	for i := range s.Columns {
		s.Columns[i].Fields = take(s.Columns[i].Fields, rows)
	}
	return &s
}

func take[T any](column []T, rows []int) []T {
	if column == nil {
		return nil
	}
	out := make([]T, len(rows))
	for i, r := range rows {
		out[i] = column[r]
	}
	return out
}
