package measured

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
)

// derive computes the figures that follow from what instruments gave: losses from powers with a reference in
// the same file, delays and PDL from Jones matrices.
func (r *reader) derive() error {
	if err := r.direct(); err != nil {
		return err
	}
	if err := r.checkStates(); err != nil {
		return err
	}
	if r.hasPrefix(powerOf) && r.hasPrefix(referenceOf) {
		t, err := r.Table.referenced(r.Table, false)
		if err != nil {
			return err
		}
		r.Table = t
	}
	return r.jones()
}

// hasPrefix tells whether a raw column of that kind was read.
func (t *Table) hasPrefix(what string) bool {
	for name := range t.Raw {
		if name == what || strings.HasPrefix(name, what+" ") {
			return true
		}
	}
	return false
}

// directed tells whether there are powers of a known direction.
func (t *Table) directed() bool {
	return t.hasPrefix(power(powerOf, forward, "")) || t.hasPrefix(power(powerOf, backward, ""))
}

// IsReference tells whether the table is a reference trace: powers without a direction, or columns named
// reference, and no figure of a unit.
func (t *Table) IsReference() bool {
	for _, name := range figures {
		if t.Figure(name) != nil {
			return false
		}
	}
	return !t.directed() && (t.hasPrefix(referenceOf) || t.hasPrefix(powerOf)) && t.Raw[jones("11", "real")] == nil
}

// direct gives powers without a direction the one that "# direction:" states.
func (r *reader) direct() error {
	var plain []string
	for _, s := range append([]string{""}, states...) {
		if name := power(powerOf, "", s); r.Raw[name] != nil {
			plain = append(plain, s)
		}
	}
	if plain == nil {
		return nil
	}
	d, stated := r.Value(directionKey)
	switch {
	case stated:
	case r.directed():
		return r.refuse(r.row, 0, "a power without a direction beside others that have one", "power forward or power backward")
	case r.hasPrefix(referenceOf):
		return r.refuse(r.row, 0, "powers without a direction", "power forward or power backward, or a line # direction: forward")
	default:
		return nil // a reference trace
	}
	for _, s := range plain {
		from, to := power(powerOf, "", s), power(powerOf, normal(d), s)
		if r.Raw[to] != nil {
			return r.refuse(r.row, 0, "the columns "+from+" and "+to, "one of them")
		}
		r.setRaw(to, r.Raw[from])
		delete(r.Raw, from)
		if b := r.Bound[from]; b != nil {
			r.setBound(to, b)
			delete(r.Bound, from)
		}
		if u := r.U[from]; u != nil {
			r.setU(to, u)
			delete(r.U, from)
		}
		for i := range r.Columns {
			if r.Columns[i].Name == from {
				r.Columns[i].Name = to
			}
		}
	}
	return nil
}

// checkStates refuses four-state readings of fewer than four states.
func (r *reader) checkStates() error {
	for _, what := range []string{powerOf, referenceOf} {
		for _, d := range []string{"", forward, backward} {
			var there, lacking []string
			for _, s := range states {
				if r.Raw[power(what, d, s)] != nil {
					there = append(there, s)
				} else {
					lacking = append(lacking, s)
				}
			}
			switch {
			case there == nil:
				continue
			case lacking != nil:
				return r.refuse(r.row, 0, "the launch states "+strings.Join(there, ", ")+" of "+power(what, d, ""), "all four: "+strings.Join(states, ", "))
			case r.Raw[power(what, d, "")] != nil:
				return r.refuse(r.row, 0, power(what, d, "")+" with launch states and without", "one of them")
			}
			if p := r.Polarization(); what == powerOf && p != Unstated && p != MinMax {
				return r.refuse(r.row, 0, "four launch states and the source polarization "+string(p), "no such line, or min-max: the extremes follow from the four states")
			}
		}
	}
	return nil
}

// Referenced returns the table with losses computed from its powers and a reference trace: loss = reference -
// power - fixture excess, in dB. The reference, a table of the same fixture without a unit, is interpolated in dB
// between its own wavelengths and never beyond them. A table without powers is refused.
func (t *Table) Referenced(ref *Table) (*Table, error) {
	refuse := func(of *Table, found, want string) error {
		return &Refusal{File: of.File.Name, Sheet: of.Sheet, Found: found, Want: want}
	}
	switch {
	case !t.directed():
		return nil, refuse(t, "no powers of a unit", "columns power forward [dBm] or power backward [dBm], or a line # direction: forward, where a reference is given")
	case t.hasPrefix(referenceOf):
		return nil, refuse(t, "a reference of its own", "either that one or another")
	case !ref.IsReference() && !ref.directed():
		return nil, refuse(ref, "no powers", "a reference trace: a column reference [dBm]")
	case len(ref.Runs()) > 1:
		return nil, refuse(ref, "a reference trace at several temperatures", "one of the fixture as it was used")
	}
	return t.referenced(ref, true)
}

// referenced computes the losses. A reference apart has its own wavelengths; one in the same file stands on
// the row of its power.
func (t *Table) referenced(ref *Table, apart bool) (*Table, error) {
	out := *t
	out.Meta = slices.Clone(t.Meta)
	out.Warnings = slices.Clone(t.Warnings)
	l := &losses{t: &out, ref: ref, apart: apart}
	if err := l.level(&l.noise, t, noiseKey, 0); err != nil {
		return nil, err
	}
	if err := l.level(&l.refNoise, ref, noiseKey, 0); err != nil {
		return nil, err
	}
	if apart {
		l.traces = map[string]*trace{}
		out.Sources = append(slices.Clone(out.Sources), Source{ref.File, ref.Sheet})
		if t.Sources == nil {
			out.Sources = []Source{{t.File, t.Sheet}, {ref.File, ref.Sheet}}
		}
		out.Origins = make([][]Origin, t.Rows())
		for i := range out.Origins {
			out.Origins[i] = slices.Clone(t.Origin(i))
		}
	}
	for _, d := range []string{forward, backward} {
		var err error
		switch {
		case t.Raw[power(powerOf, d, "")] != nil:
			err = l.single(d)
		case t.Raw[power(powerOf, d, states[0])] != nil:
			err = l.four(d)
		}
		if err != nil {
			return nil, err
		}
	}
	out.aged(ref, apart)
	return &out, nil
}

// losses computes the losses of one table.
type losses struct {
	t, ref          *Table
	apart           bool
	noise, refNoise float64 // standard uncertainty of one power, dB, from the metadata
	traces          map[string]*trace
}

// level reads a level in dB from the metadata.
func (l *losses) level(into *float64, t *Table, key string, otherwise float64) error {
	r := reader{Table: t}
	v, err := r.metaLevel(key)
	if _, ok := t.Value(key); !ok {
		v = otherwise
	}
	*into = v
	return err
}

// ratio is a transmission in dB, a negative number, of one row and state.
type ratio struct {
	dB, u  float64
	common float64 // the standard uncertainty that all four launch states share, by one reference
	bound  bool
}

// ratios returns power over reference for the column of a direction and state.
func (l *losses) ratios(d, s string) ([]ratio, error) {
	name := power(powerOf, d, s)
	var excess float64
	if err := l.level(&excess, l.t, excessKey, 0); err != nil {
		return nil, err
	}
	if err := l.level(&excess, l.t, excessKey+" "+d, excess); err != nil {
		return nil, err
	}
	from, err := l.referenceFor(d, s)
	if err != nil {
		return nil, err
	}
	shared := s != "" && !l.perState(d, s)
	p := l.t.Raw[name]
	all := make([]ratio, len(p))
	for i, v := range p {
		at, err := from(i)
		if err != nil {
			return nil, err
		}
		all[i] = ratio{dB: v - at.dB + excess, u: noiseOf(l.t, name, i, l.noise), bound: l.t.bounded(name, i)}
		if shared {
			all[i].common = at.u
		} else {
			all[i].u = math.Hypot(all[i].u, at.u)
		}
		if d == forward && all[i].bound {
			return nil, l.refuse(i, name, "a bound", "a power that the detector can tell from zero: the unit passes no light forward")
		}
		if all[i].dB > -tolerated(math.Hypot(all[i].u, all[i].common)) {
			return nil, l.refuse(i, name, fmt.Sprintf("%.4g dBm, %.3g dB more than the reference", v, all[i].dB), "less light through the unit than without it")
		}
	}
	return all, nil
}

// refuse names the row of a power.
func (l *losses) refuse(row int, name, found, want string) error {
	e := &Refusal{File: l.t.File.Name, Sheet: l.t.Sheet, Line: l.t.Line[row], Found: found, Want: want}
	if i := slices.IndexFunc(l.t.Columns, func(c Column) bool { return c.Name == name }); i >= 0 {
		e.Column, e.Head = l.t.Columns[i].Index, l.t.Columns[i].Head
	}
	return e
}

// noiseOf is the standard uncertainty of a power in dB: its column's, else what the metadata say of all.
func noiseOf(t *Table, name string, row int, all float64) float64 {
	if u := t.U[name]; u != nil && u[row] == u[row] {
		return u[row]
	}
	return all
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

// referenceFor returns the reference of a direction and state, row by row. The nearest name is taken: that of
// the state and direction, of the state, of the direction, of the trace.
func (l *losses) referenceFor(d, s string) (func(row int) (ratio, error), error) {
	name := l.referenceName(d, s)
	if name == "" {
		return nil, &Refusal{File: l.ref.File.Name, Sheet: l.ref.Sheet, Found: "no reference for " + power(powerOf, d, s), Want: "a column " + power(referenceOf, d, s) + " [dBm]"}
	}
	if s != "" && !l.perState(d, s) {
		if w := "one reference serves all four launch states of " + l.t.File.Name + ": that the launcher gives each the same power is taken for granted"; !slices.Contains(l.t.Warnings, w) {
			l.t.Warnings = append(l.t.Warnings, w)
		}
	}
	if !l.apart {
		return func(row int) (ratio, error) {
			if l.ref.bounded(name, row) {
				return ratio{}, l.refuse(row, name, "a bound", "a reference that the detector can tell from zero")
			}
			return ratio{dB: l.ref.Raw[name][row], u: noiseOf(l.ref, name, row, l.refNoise)}, nil
		}, nil
	}
	tr, err := l.trace(name)
	if err != nil {
		return nil, err
	}
	return func(row int) (ratio, error) { return l.interpolate(tr, row) }, nil
}

// trace is a reference over wavelength, sorted, one point per wavelength.
type trace struct {
	l     []float64
	dB, u []float64
	rows  [][]int
}

func (l *losses) trace(name string) (*trace, error) {
	if tr := l.traces[name]; tr != nil {
		return tr, nil
	}
	values := l.ref.Raw[name]
	var rows []int
	for i, v := range values {
		if l.ref.bounded(name, i) {
			return nil, &Refusal{File: l.ref.File.Name, Sheet: l.ref.Sheet, Line: l.ref.Line[i], Found: "a bound", Want: "a reference that the detector can tell from zero"}
		}
		if v == v {
			rows = append(rows, i)
		}
	}
	slices.SortStableFunc(rows, func(a, b int) int { return cmp.Compare(l.ref.Wavelength[a], l.ref.Wavelength[b]) })
	tr := &trace{}
	for _, i := range rows {
		x, u := float64(l.ref.Wavelength[i]), noiseOf(l.ref, name, i, l.refNoise)
		if n := len(tr.l) - 1; n >= 0 && tr.l[n] == x { // repeated: the mean, whose noise averages
			k := float64(len(tr.rows[n]))
			tr.dB[n] = (tr.dB[n]*k + values[i]) / (k + 1)
			tr.u[n] = math.Sqrt(tr.u[n]*tr.u[n]*k*k+u*u) / (k + 1)
			tr.rows[n] = append(tr.rows[n], i)
			continue
		}
		tr.l, tr.dB, tr.u, tr.rows = append(tr.l, x), append(tr.dB, values[i]), append(tr.u, u), append(tr.rows, []int{i})
	}
	l.traces[name] = tr
	return tr, nil
}

// interpolate returns the reference at the wavelength of a row, and enters the rows it came from.
func (l *losses) interpolate(tr *trace, row int) (ratio, error) {
	const same = 1e-15 // metre: the rounding of a conversion
	x := float64(l.t.Wavelength[row])
	n := len(tr.l)
	if n == 0 || x < tr.l[0]-same || x > tr.l[n-1]+same {
		span := "none at all"
		if n > 0 {
			span = fmt.Sprintf("the %.6g nm to %.6g nm of the reference trace %s", tr.l[0]*1e9, tr.l[n-1]*1e9, l.ref.File.Name)
		}
		return ratio{}, l.refuse(row, Wavelength, fmt.Sprintf("%.6g nm", x*1e9), "a wavelength within "+span+", which is not continued beyond its ends")
	}
	i, exact := slices.BinarySearch(tr.l, x)
	if i == n {
		i--
	}
	if exact || math.Abs(tr.l[i]-x) <= same || i == 0 {
		l.enter(row, tr.rows[i])
		return ratio{dB: tr.dB[i], u: tr.u[i]}, nil
	}
	l.enter(row, tr.rows[i-1])
	l.enter(row, tr.rows[i])
	w := (x - tr.l[i-1]) / (tr.l[i] - tr.l[i-1])
	return ratio{dB: tr.dB[i-1]*(1-w) + tr.dB[i]*w, u: math.Hypot(tr.u[i-1]*(1-w), tr.u[i]*w)}, nil
}

// enter adds rows of the reference to the origins of a row, each once.
func (l *losses) enter(row int, rows []int) {
	for _, i := range rows {
		o := Origin{Source: len(l.t.Sources) - 1, Line: l.ref.Line[i]}
		if !slices.Contains(l.t.Origins[row], o) {
			l.t.Origins[row] = append(l.t.Origins[row], o)
		}
	}
}

// single computes the loss of a direction from one power.
func (l *losses) single(d string) error {
	name := InsertionLoss
	if d == backward {
		name = Isolation
	}
	if l.t.Figure(name) != nil {
		return &Refusal{File: l.t.File.Name, Sheet: l.t.Sheet, Found: "a column " + name + " and powers that it follows from", Want: "one of them"}
	}
	all, err := l.ratios(d, "")
	if err != nil {
		return err
	}
	values, u, bounds := make([]float64, len(all)), make([]float64, len(all)), make([]bool, len(all))
	for i, x := range all {
		values[i], u[i], bounds[i] = -x.dB, x.u, x.bound
	}
	l.set(name, values, u)
	if slices.Contains(bounds, true) {
		l.t.Bound = clone(l.t.Bound)
		l.t.setBound(name, bounds)
	}
	return nil
}

// set enters a figure and its uncertainty, where there is one.
func (l *losses) set(name string, values, u []float64) {
	l.t.More = clone(l.t.More)
	l.t.setFigure(name, values)
	if slices.ContainsFunc(u, func(v float64) bool { return v > 0 }) {
		l.t.U = clone(l.t.U)
		l.t.setU(name, u)
	}
}

func clone[T any](m map[string]T) map[string]T {
	c := make(map[string]T, len(m))
	for k, v := range m {
		c[k] = v
	}
	return c
}

// aged notes the age of the reference and where it came from.
func (t *Table) aged(ref *Table, apart bool) {
	add := func(key, value string) { t.Meta = append(t.Meta, KeyValue{Key: key, Value: value}) }
	if apart {
		if _, ok := t.Value(referenceKey); !ok {
			for _, key := range []string{referenceKey, measuredKey} {
				if v, ok := ref.Value(key); ok {
					add(referenceKey, v)
					break
				}
			}
		}
		add("reference file", ref.File.Name)
		add("reference SHA-256", ref.File.SHA256)
	}
	days, ok := t.ReferenceAge()
	switch {
	case !ok:
		t.Warnings = append(t.Warnings, "the age of the reference of "+t.File.Name+" is not known: lines \"# measured:\" and \"# reference taken:\" with dates would tell")
		return
	case days < 0:
		t.Warnings = append(t.Warnings, fmt.Sprintf("the reference of %s was taken %s after the measurement", t.File.Name, inDays(-days)))
	}
	add("reference age", inDays(days))
}

func inDays(n int) string {
	if n == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%d days", n)
}

// relative is the relative change of a power per decibel.
const relative = math.Ln10 / 10

// transmissionOf turns a ratio in dB into one of powers.
func transmissionOf(x ratio) float64 { return quantity.Ratio(x.dB) }
