package measured

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// trace is a column of a reference: over wavelength, sorted, one point per wavelength, where it is a trace of its own;
// else row by row beside the powers. It knows the points that each row is divided by.
type trace struct {
	l, dB, u []float64
	lines    [][]int
	column   []float64 // beside the powers

	base   int32 // of its points among those of all references
	first  []int32
	weight []float64
}

// referenceName returns the name of the reference for a direction and state, "" for none.
func (l *losses) referenceName(d, s string) string {
	for _, what := range []string{referenceOf, powerOf} {
		if what == powerOf && !l.apart {
			continue
		}
		for _, name := range []string{power(what, d, s), power(what, "", s), power(what, d, ""), power(what, "", "")} {
			if l.ref.Raw[name] != nil {
				return name
			}
		}
	}
	return ""
}

// perState tells whether a launch state has a reference of its own.
func (l *losses) perState(d, s string) bool { return strings.HasSuffix(l.referenceName(d, s), s) }

// referenceFor returns the reference of a direction and state. The nearest name is taken: that of
// the state and direction, of the state, of the direction, of the trace.
func (l *losses) referenceFor(d, s string) (*trace, error) {
	name := l.referenceName(d, s)
	if name == "" {
		return nil, &Refusal{File: l.ref.File.Name, Sheet: l.ref.Sheet, Found: "no reference for " + power(powerOf, d,
			s), Want: "a column " + power(referenceOf, d, s) + " [dBm]"}
	}
	if s != "" && !l.perState(d, s) {
		if w := "one reference serves all four launch states of " + l.t.File.Name +
			": the launcher is assumed to give each state the same power"; !slices.Contains(l.t.Warnings, w) {
			l.t.Warnings = append(l.t.Warnings, w)
		}
	}
	if tr := l.traces[name]; tr != nil {
		return tr, nil
	}
	tr := &trace{base: int32(l.t.SharedErrors())}
	l.traces[name] = tr
	var err error
	if l.apart {
		err = l.sorted(tr, name)
	} else {
		err = l.beside(tr, name)
	}
	if err != nil {
		return nil, err
	}
	l.t.References = append(l.t.References, Reference{Key: referenceKeyOf(Source{l.ref.File, l.ref.Sheet}, name),
		From: Source{l.ref.File, l.ref.Sheet}, U: tr.u, Lines: tr.lines})
	return tr, nil
}

// beside takes a reference that stands beside the powers. Where sweeps repeat a wavelength and have the same reference
// to the last digit there, one trace was written beside all of them; so it was where all of it is one number.
func (l *losses) beside(tr *trace, name string) error {
	tr.column = l.ref.Raw[name]
	n := len(tr.column)
	tr.first, tr.weight = make([]int32, n), make([]float64, n)
	point := map[float64]int32{}
	key := l.written(tr.column)
	for i := range n {
		if l.ref.bounded(name, i) {
			return l.refuse(i, name, "a bound", "a reference that the detector can tell from zero")
		}
		k, ok := point[key(i)]
		if !ok {
			k = int32(len(tr.u))
			point[key(i)] = k
			tr.u = append(tr.u, noiseOf(l.ref, name, i, l.refNoise))
		}
		tr.first[i] = tr.base + k
	}
	return nil
}

// written returns what makes two rows have the same reading of a reference beside them: all, the wavelength or the row.
func (l *losses) written(column []float64) func(row int) float64 {
	const enough = 3
	if len(column) >= enough && !slices.ContainsFunc(column, func(v float64) bool { return v != column[0] }) {
		return func(int) float64 { return 0 }
	}
	at := map[float64]float64{}
	again := 0
	for i, v := range column {
		x := float64(l.ref.Wavelength[i])
		was, ok := at[x]
		if ok && was != v {
			return func(row int) float64 { return float64(row) }
		}
		if ok {
			again++
		}
		at[x] = v
	}
	if again < enough {
		return func(row int) float64 { return float64(row) }
	}
	return func(row int) float64 { return float64(l.ref.Wavelength[row]) }
}

// sorted takes a reference trace by itself.
func (l *losses) sorted(tr *trace, name string) error {
	values := l.ref.Raw[name]
	var rows []int
	for i, v := range values {
		if l.ref.bounded(name, i) {
			return &Refusal{File: l.ref.File.Name, Sheet: l.ref.Sheet, Line: l.ref.Line[i], Found: "a bound",
				Want: "a reference that the detector can tell from zero"}
		}
		if v == v {
			rows = append(rows, i)
		}
	}
	slices.SortStableFunc(rows, func(a, b int) int { return cmp.Compare(l.ref.Wavelength[a], l.ref.Wavelength[b]) })
	for _, i := range rows {
		x, u := float64(l.ref.Wavelength[i]), noiseOf(l.ref, name, i, l.refNoise)
		if n := len(tr.l) - 1; n >= 0 && tr.l[n] == x { // repeated: the mean, whose noise averages
			k := float64(len(tr.lines[n]))
			tr.dB[n] = (tr.dB[n]*k + values[i]) / (k + 1)
			tr.u[n] = math.Sqrt(tr.u[n]*tr.u[n]*k*k+u*u) / (k + 1)
			tr.lines[n] = append(tr.lines[n], l.ref.Line[i])
			continue
		}
		tr.l, tr.dB, tr.u, tr.lines = append(tr.l, x), append(tr.dB, values[i]), append(tr.u, u),
			append(tr.lines, []int{l.ref.Line[i]})
	}
	tr.first, tr.weight = make([]int32, l.t.Rows()), make([]float64, l.t.Rows())
	widest := 0.0
	for i := range tr.first {
		gap, err := l.place(tr, i)
		if err != nil {
			return err
		}
		widest = max(widest, gap)
	}
	if widest > farApart {
		l.t.Warnings = append(l.t.Warnings, fmt.Sprintf("the reference %s is interpolated over up to %.4g nm: what "+
			"it does between its readings is not known", l.ref.File.Name, widest*1e9))
	}
	return nil
}

// farApart is how far readings of a reference may stand apart before that is worth a word: sources and fixtures change
// little over less (a choice).
const farApart = 5e-9

// place finds the points of the trace on either side of a row, and how far apart they are.
func (l *losses) place(tr *trace, row int) (gap float64, err error) {
	const same = 1e-15 // metre: the rounding of a conversion
	x := float64(l.t.Wavelength[row])
	n := len(tr.l)
	if n == 0 || x < tr.l[0]-same || x > tr.l[n-1]+same {
		span := "none at all"
		if n > 0 {
			span = fmt.Sprintf("the %.6g nm to %.6g nm of the reference trace %s", tr.l[0]*1e9, tr.l[n-1]*1e9,
				l.ref.File.Name)
		}
		return 0, l.refuse(row, Wavelength, fmt.Sprintf("%.6g nm", x*1e9),
			"a wavelength within "+span+", which is not continued beyond its ends")
	}
	i, exact := slices.BinarySearch(tr.l, x)
	if i == n {
		i--
	}
	if exact || math.Abs(tr.l[i]-x) <= same || i == 0 {
		tr.first[row] = tr.base + int32(i)
		return 0, nil
	}
	gap = tr.l[i] - tr.l[i-1]
	tr.first[row], tr.weight[row] = tr.base+int32(i-1), (x-tr.l[i-1])/gap
	return gap, nil
}

// at returns the reference of a row in dBm: NaN where the row has none.
func (tr *trace) at(row int) float64 {
	if tr.column != nil {
		return tr.column[row]
	}
	i, w := tr.first[row]-tr.base, tr.weight[row]
	if w == 0 {
		return tr.dB[i]
	}
	return tr.dB[i]*(1-w) + tr.dB[i+1]*w
}
