package measured

import (
	"fmt"
	"math"
	"slices"

	"wedgework/optics/quantity"
)

// spot is where a reading belongs: a run, for two readings at one temperature seldom have the same logged one.
type spot struct {
	unit, lot   string
	l           float64
	run, repeat int
}

// spots returns the spot of each row.
func (t *Table) spots() []spot {
	run := t.runOf()
	all := make([]spot, t.Rows())
	for i := range all {
		s := spot{l: float64(t.Wavelength[i]), run: run[i]}
		if t.Units != nil {
			s.unit = t.Units[i]
		}
		if t.Lots != nil {
			s.lot = t.Lots[i]
		}
		if t.Repeat != nil {
			s.repeat = t.Repeat[i]
		}
		all[i] = s
	}
	return all
}

// taken numbers spots in the order in which they first occur, and remembers of each, column by column, the last row with a
// reading.
type taken struct {
	columns [][]float64
	index   map[spot]int
	last    []int // by spot and column; -1 for none
}

func newTaken(columns [][]float64) *taken { return &taken{columns: columns, index: map[spot]int{}} }

// at returns the number of a spot and its last rows.
func (k *taken) at(s spot) (number int, last []int) {
	number, ok := k.index[s]
	if !ok {
		number = len(k.index)
		k.index[s] = number
		for range k.columns {
			k.last = append(k.last, -1)
		}
	}
	n := len(k.columns)
	return number, k.last[number*n : number*n+n]
}

// put enters a row into the rows of its spot.
func (k *taken) put(last []int, row int) {
	for c, v := range k.columns {
		if v[row] == v[row] {
			last[c] = row
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
		defer r.warn("the temperatures of %s go from %s to %s without a gap of more than %d K: taken as runs of at most %d K",
			r.File.Name, celsius(cold), celsius(hot), SameRun, SameRun)
	}
	names, columns := r.readings()
	r.empty(columns)
	if r.distinct() {
		return nil
	}
	seen := newTaken(columns)
	repeats := make([]int, r.Rows())
	again, at := 0, 0
	for i, k := range r.spots() {
		_, last := seen.at(k)
		repeats[i] = 1
		for c, j := range last {
			if j < 0 || columns[c][i] != columns[c][i] {
				continue
			}
			if r.Repeat != nil {
				return r.refuse(r.Line[i], 0, "another reading of "+names[c]+" at the wavelength, temperature and repeat of "+placeOf(r.Sheet, r.Line[j], 0),
					"one, or another number in the column repeat")
			}
			repeats[i] = max(repeats[i], repeats[j]+1)
		}
		if repeats[i] > 1 {
			if again++; at == 0 {
				at = r.Line[i]
			}
		}
		seen.put(last, i)
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
// from which a type A uncertainty follows (JCGM 100, 4.2). The means are of decibels: they lie above those of
// the losses as powers by 0.115 s^2 dB, with s the spread in dB. A stated uncertainty stays that of one
// reading, in the root mean square. A mean that holds a bound is a bound, and has no spread. The table itself is
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
			a.Temperature[g] = quantity.Temperature(mean(len(rows), func(k int) float64 { return float64(t.Temperature[rows[k]]) }))
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
	return a
}

// groups gathers the rows of each place: those of a run at one wavelength. It tells whether any place has
// two readings of a figure.
func (t *Table) groups() (groups [][]int, repeated bool) {
	_, columns := t.readings()
	seen := newTaken(columns)
	for i, k := range t.spots() {
		k.repeat = 0
		g, last := seen.at(k)
		if g == len(groups) {
			groups = append(groups, nil)
		}
		for c, j := range last {
			repeated = repeated || j >= 0 && columns[c][i] == columns[c][i]
		}
		seen.put(last, i)
		groups[g] = append(groups[g], i)
	}
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
