package measured

import (
	"cmp"
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
)

// places hands on the rows of each place where readings belong: of one unit, lot, run and wavelength, and of one number
// of repeat where those are kept apart. A run, for two readings at one temperature seldom have the same logged one.
// Rows come in the order of the table, places in that of their runs and wavelengths.
func (t *Table) places(byRepeat bool) iter.Seq[[]int] {
	var keys []func(i, j int) int
	if t.Units != nil {
		keys = append(keys, func(i, j int) int { return strings.Compare(t.Units[i], t.Units[j]) })
	}
	if t.Lots != nil {
		keys = append(keys, func(i, j int) int { return strings.Compare(t.Lots[i], t.Lots[j]) })
	}
	if byRepeat && t.Repeat != nil {
		keys = append(keys, func(i, j int) int { return cmp.Compare(t.Repeat[i], t.Repeat[j]) })
	}
	return func(yield func([]int) bool) {
		for _, run := range t.Runs() {
			for from := 0; from < len(run.Rows); {
				to := from + 1
				for to < len(run.Rows) && t.Wavelength[run.Rows[to]] == t.Wavelength[run.Rows[from]] {
					to++
				}
				if !parts(run.Rows[from:to], keys, yield) {
					return
				}
				from = to
			}
		}
	}
}

// parts hands on rows that agree in all keys together.
func parts(rows []int, keys []func(i, j int) int, yield func([]int) bool) bool {
	compare := func(i, j int) int {
		for _, key := range keys {
			if c := key(i, j); c != 0 {
				return c
			}
		}
		return 0
	}
	slices.SortFunc(rows, func(i, j int) int { return cmp.Or(compare(i, j), cmp.Compare(i, j)) })
	for from := 0; from < len(rows); {
		to := from + 1
		for to < len(rows) && compare(rows[from], rows[to]) == 0 {
			to++
		}
		if !yield(rows[from:to]) {
			return false
		}
		from = to
	}
	return true
}

// lastTaken returns, column by column, the last of some rows with a reading; -1 for none. Rows are handed over one by
// one.
type lastTaken struct {
	columns [][]float64
	last    []int
}

func newLastTaken(columns [][]float64) *lastTaken {
	return &lastTaken{columns: columns, last: make([]int, len(columns))}
}

func (l *lastTaken) clear() {
	for c := range l.last {
		l.last[c] = -1
	}
}

func (l *lastTaken) put(row int) {
	for c, v := range l.columns {
		if v[row] == v[row] {
			l.last[c] = row
		}
	}
}

// readings returns the columns of figures and raw readings, and their names.
func (t *Table) readings() (names []string, columns [][]float64) {
	for _, name := range order {
		v := t.Figure(name)
		if v == nil {
			v = t.Raw[name]
		}
		if v != nil {
			names, columns = append(names, name), append(columns, v)
		}
	}
	return names, columns
}

// number numbers the repeats of a file that does not: rows with a reading that another row has given for the
// same place. Forward and backward readings of a place may stand on rows of their own. Where the file numbers
// its repeats, a second reading under the same number is refused.
func (r *reader) number() error {
	if cold, hot, ok := r.ramp(); ok {
		defer r.warn("the temperatures of %s go from %s to %s without a gap of more than %d K: taken as runs of at "+
			"most %d K",
			r.File.Name, celsius(cold), celsius(hot), SameRun, SameRun)
	}
	names, columns := r.readings()
	r.empty(columns)
	if r.distinct() {
		return nil
	}
	seen := newLastTaken(columns)
	repeats := make([]int, r.Rows())
	var twice *Refusal
	again, at := 0, 0
	for rows := range r.places(true) {
		seen.clear()
		for _, i := range rows {
			repeats[i] = 1
			for c, j := range seen.last {
				if j < 0 || columns[c][i] != columns[c][i] {
					continue
				}
				if r.Repeat != nil && (twice == nil || r.Line[i] < twice.Line) {
					twice = &Refusal{File: r.File.Name, Sheet: r.Sheet, Line: r.Line[i],
						Found: "another reading of " + names[c] + " at the wavelength, temperature and repeat of " +
							placeOf(r.Sheet, r.Line[j], 0),
						Want: "one, or another number in the column repeat"}
				}
				repeats[i] = max(repeats[i], repeats[j]+1)
			}
			if repeats[i] > 1 {
				if again++; at == 0 || r.Line[i] < at {
					at = r.Line[i]
				}
			}
			seen.put(i)
		}
	}
	if twice != nil {
		return twice
	}
	if again > 0 {
		r.Repeat = repeats
		rows := "rows of %s give the wavelength and temperature of another row"
		if again == 1 {
			rows = "row of %s gives the wavelength and temperature of another row"
		}
		r.warn("%d "+rows+", first on %s: taken as repeated readings", again, r.File.Name, placeOf(r.Sheet, at, 0))
	}
	return nil
}

// empty lists the rows without any reading.
func (r *reader) empty(columns [][]float64) {
	n, first := 0, 0
	for i := range r.Rows() {
		if !slices.ContainsFunc(columns, func(v []float64) bool { return v[i] == v[i] }) {
			if n++; n == 1 {
				first = i
			}
		}
	}
	switch {
	case n == 1:
		r.unused(r.Line[first], "a row without a reading")
	case n > 1:
		r.unused(r.Line[first], fmt.Sprintf("%d rows without a reading, the first on this line", n))
	}
}

// distinct tells whether no two rows have a run and a wavelength in common, as in most files.
func (t *Table) distinct() bool {
	for _, r := range t.Runs() {
		for k := 1; k < len(r.Rows); k++ {
			if t.Wavelength[r.Rows[k]] == t.Wavelength[r.Rows[k-1]] {
				return false
			}
		}
	}
	return true
}

func celsius(t quantity.Temperature) string { return fmt.Sprintf("%.4g °C", t.Celsius()) }

// Averaged returns the table with one row per unit, lot, run and wavelength, in the order in which they first
// occur: the means of the repeated readings, with their standard deviations in Spread and their number in Count,
// from which a type A uncertainty follows (JCGM 100, 4.2). Losses that follow from powers are those of the mean
// powers, with the uncertainty of the mean. Other means are of decibels: they lie above those of the losses as
// powers by 0.115 s^2 dB, with s the spread in dB, and a stated uncertainty stays that of one reading, in the
// root mean square. A mean that holds a bound is a bound, and has no spread. The table itself is
// returned where it has no repeats.
func (t *Table) Averaged() *Table {
	groups, repeated := t.groups()
	if !repeated {
		return t
	}
	firsts := make([]int, len(groups))
	for g, rows := range groups {
		firsts[g] = rows[0]
	}
	a := t.Pick(firsts)
	a.Repeat = nil
	a.Origins = make([][]Origin, len(groups))
	for g, rows := range groups {
		seen := map[Origin]bool{}
		for _, i := range rows {
			for _, o := range t.Origin(i) {
				if !seen[o] {
					seen[o] = true
					a.Origins[g] = append(a.Origins[g], o)
				}
			}
		}
		if t.Temperature != nil {
			a.Temperature[g] = quantity.Temperature(mean(len(rows),
				func(k int) float64 { return float64(t.Temperature[rows[k]]) }))
		}
	}
	names, columns := t.readings()
	for c, name := range names {
		to := a.Figure(name)
		if to == nil {
			to = a.Raw[name]
		}
		spread, count, bound := make([]float64, len(groups)), make([]int, len(groups)), make([]bool, len(groups))
		for g, rows := range groups {
			to[g], spread[g], count[g], bound[g] = t.average(name, columns[c], rows)
		}
		put(&a.Spread, name, spread)
		put(&a.Count, name, count)
		if slices.Contains(bound, true) {
			a.setBound(name, bound)
		}
	}
	for name, u := range t.U {
		for g, rows := range groups {
			a.U[name][g] = rootMeanSquare(u, rows)
		}
	}
	a.averageModuli(t, groups)
	a.averagePowers(t, groups)
	return a
}

// averageModuli replaces mean PDLs and DGDs by the lengths of mean vectors, as far as those are known from the lengths
// alone: of n readings of standard uncertainty u, with c components each, the mean square is that of the vector and c
// u^2, of which the mean vector keeps c u^2 / n.
func (t *Table) averageModuli(of *Table, groups [][]int) {
	for _, name := range []string{PDL, BackwardPDL, DGD, BackwardDGD} {
		if of.Figure(name) == nil || of.U[name] == nil {
			continue
		}
		for g, rows := range groups {
			if v, u, ok := of.meanModulus(name, rows); ok {
				t.Figure(name)[g], t.U[name][g] = v, u
			}
		}
	}
}

// meanModulus returns the length of the mean vector of several readings and the standard uncertainty of it.
func (t *Table) meanModulus(name string, rows []int) (v, u float64, ok bool) {
	var s scale
	n, squares, noise, components := 0.0, 0.0, 0.0, 0.0
	strong := meanOf(t.Figure(name), rows) >= strongPDL
	for _, i := range rows {
		m, sc, known := t.modulus(name, i, strong)
		if !known {
			continue
		}
		s = sc
		n++
		squares += m.Length * m.Length
		noise += m.Radial
		components = m.Trace / m.Radial
	}
	if n < 2 {
		return 0, 0, false
	}
	squares, noise = squares/n, noise/n
	length := math.Sqrt(max(squares-components*noise, 0) + components*noise/n)
	v = s.back(length)
	step := math.Sqrt(noise / n)
	return v, math.Abs(s.back(length+step/2)-s.back(max(length-step/2, 0))) * step / (step/2 + min(length, step/2)),
		true
}

// groups gathers the rows of each place: those of a run at one wavelength, in the order in which they first occur. It
// tells whether any place has two readings of a figure.
func (t *Table) groups() (groups [][]int, repeated bool) {
	_, columns := t.readings()
	seen := newLastTaken(columns)
	for rows := range t.places(false) {
		seen.clear()
		for _, i := range rows {
			for c, j := range seen.last {
				repeated = repeated || j >= 0 && columns[c][i] == columns[c][i]
			}
			seen.put(i)
		}
		groups = append(groups, rows)
	}
	slices.SortFunc(groups, func(a, b []int) int { return cmp.Compare(a[0], b[0]) })
	return groups, repeated
}

// average returns the mean, spread and number of the readings of a figure that were taken.
func (t *Table) average(name string, values []float64, rows []int) (m, spread float64, n int, bound bool) {
	var taken []float64
	for _, i := range rows {
		if values[i] == values[i] {
			taken = append(taken, values[i])
			bound = bound || t.bounded(name, i)
		}
	}
	n = len(taken)
	if n == 0 {
		return missing, missing, 0, false
	}
	m, spread = mean(n, func(k int) float64 { return taken[k] }), missing
	if n > 1 && !bound {
		sum := 0.0
		for _, v := range taken {
			sum += (v - m) * (v - m)
		}
		spread = math.Sqrt(sum / float64(n-1))
	}
	return m, spread, n, bound
}

// meanOf is the mean of those of some readings that were taken.
func meanOf(values []float64, rows []int) float64 {
	sum, n := 0.0, 0
	for _, i := range rows {
		if values[i] == values[i] {
			sum += values[i]
			n++
		}
	}
	return sum / float64(n)
}

func mean(n int, of func(k int) float64) float64 {
	sum := 0.0
	for k := range n {
		sum += of(k)
	}
	return sum / float64(n)
}

func rootMeanSquare(u []float64, rows []int) float64 {
	sum, n := 0.0, 0
	for _, i := range rows {
		if u[i] == u[i] {
			sum += u[i] * u[i]
			n++
		}
	}
	if n == 0 {
		return missing
	}
	return math.Sqrt(sum / float64(n))
}

// Drift is how a repeated sweep differs from the first one of its run, over the readings that both have.
type Drift struct {
	Run    int // index into Runs
	Repeat int
	Common int     // how many readings were compared
	Mean   float64 // of the differences, in the unit of the figure: a drift of the bench
	Spread float64 // standard deviation (n-1) of the differences: noise of both sweeps; NaN for one
}

// Drifts compares the repeated sweeps of a table that holds one unit, for one figure; bounds are left out. Nil
// without repeats.
func (t *Table) Drifts(name string) []Drift {
	values := t.Figure(name)
	if t.Repeat == nil || values == nil {
		return nil
	}
	var all []Drift
	for n, run := range t.Runs() {
		sweeps := map[int]map[quantity.Length]float64{}
		for _, i := range run.Rows {
			if values[i] != values[i] || t.bounded(name, i) {
				continue
			}
			k := t.Repeat[i]
			if sweeps[k] == nil {
				sweeps[k] = map[quantity.Length]float64{}
			}
			sweeps[k][t.Wavelength[i]] = values[i]
		}
		var numbers []int
		for k := range sweeps {
			numbers = append(numbers, k)
		}
		slices.Sort(numbers)
		for _, k := range numbers[min(1, len(numbers)):] {
			if d, ok := between(sweeps[numbers[0]], sweeps[k]); ok {
				d.Run, d.Repeat = n, k
				all = append(all, d)
			}
		}
	}
	return all
}

func between(first, second map[quantity.Length]float64) (Drift, bool) {
	var by []quantity.Length // sums in order of wavelength, so that they come out alike every time
	for l := range second {
		if _, ok := first[l]; ok {
			by = append(by, l)
		}
	}
	slices.Sort(by)
	d := Drift{Common: len(by), Spread: missing}
	if d.Common == 0 {
		return d, false
	}
	of := func(k int) float64 { return second[by[k]] - first[by[k]] }
	d.Mean = mean(d.Common, of)
	if d.Common > 1 {
		sum := 0.0
		for k := range by {
			sum += (of(k) - d.Mean) * (of(k) - d.Mean)
		}
		d.Spread = math.Sqrt(sum / float64(d.Common-1))
	}
	return d, true
}
