package measured

import (
	"fmt"
	"math"
	"slices"
	"strings"
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
		return r.refuse(r.row, 0, "a power without a direction beside others that have one",
			"power forward or power backward")
	case r.hasPrefix(referenceOf):
		return r.refuse(r.row, 0, "powers without a direction",
			"power forward or power backward, or a line # direction: forward")
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
				return r.refuse(r.row, 0, "the launch states "+strings.Join(there, ", ")+" of "+power(what, d, ""),
					"all four: "+strings.Join(states, ", "))
			case r.Raw[power(what, d, "")] != nil:
				return r.refuse(r.row, 0, power(what, d, "")+" with launch states and without", "one of them")
			}
			if p := r.Polarization(); what == powerOf && p != Unstated && p != MinMax {
				return r.refuse(r.row, 0, "four launch states and the source polarization "+string(p),
					"no such line, or min-max: the extremes follow from the four states")
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
		return nil, refuse(t, "no powers of a unit",
			"columns power forward [dBm] or power backward [dBm], or a line # direction: forward, where a reference "+
				"is given")
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
	out.Meta, out.Warnings = slices.Clone(t.Meta), slices.Clone(t.Warnings)
	out.References, out.divided = nil, map[string]*division{}
	l := &losses{t: &out, ref: ref, apart: apart, traces: map[string]*trace{}}
	if err := l.level(&l.noise, t, noiseKey, 0); err != nil {
		return nil, err
	}
	if err := l.level(&l.refNoise, ref, noiseKey, 0); err != nil {
		return nil, err
	}
	if apart {
		out.Sources = append(slices.Clone(out.Sources), Source{ref.File, ref.Sheet})
		if t.Sources == nil {
			out.Sources = []Source{{t.File, t.Sheet}, {ref.File, ref.Sheet}}
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
	out.elsewhere(ref)
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

// divide returns power over reference for the column of a direction and state, and enters it into the table.
func (l *losses) divide(d, s string) (*division, error) {
	name := power(powerOf, d, s)
	var excess float64
	if err := l.level(&excess, l.t, excessKey, 0); err != nil {
		return nil, err
	}
	if err := l.level(&excess, l.t, excessKey+" "+d, excess); err != nil {
		return nil, err
	}
	tr, err := l.referenceFor(d, s)
	if err != nil {
		return nil, err
	}
	p := l.t.Raw[name]
	div := &division{dB: make([]float64, len(p)), all: l.noise, first: tr.first, weight: tr.weight,
		alone: s == ""}
	if l.t.U[name] != nil {
		div.u = make([]float64, len(p))
	}
	for i, v := range p {
		div.dB[i] = v - tr.at(i) + excess
		if div.u != nil {
			div.u[i] = noiseOf(l.t, name, i, l.noise)
		}
		if d == forward && l.t.bounded(name, i) {
			return nil, l.refuse(i, name, "a bound",
				"a power that the detector can tell from zero: the unit passes no light forward")
		}
		if div.dB[i] > -tolerated(math.Hypot(div.noise(i), l.t.referenceNoise(div, i))) {
			return nil, l.refuse(i, name, fmt.Sprintf("%.4g dBm, %.3g dB more than the reference", v, div.dB[i]),
				"less light through the unit than without it")
		}
	}
	l.t.divided[strings.TrimSpace(d+" "+s)] = div
	return div, nil
}

// referenceNoise is the standard uncertainty of the reference of a row.
func (t *Table) referenceNoise(d *division, row int) float64 {
	sum := 0.0
	d.points(row, func(k int, share float64) {
		r, n := t.reference(k)
		sum += share * share * r.U[n] * r.U[n]
	})
	return math.Sqrt(sum)
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

// single computes the loss of a direction from one power.
func (l *losses) single(d string) error {
	name := InsertionLoss
	if d == backward {
		name = Isolation
	}
	if err := l.twice(name); err != nil {
		return err
	}
	one, err := l.divide(d, "")
	if err == nil {
		err = l.systematic(d, []*division{one})
	}
	if err != nil {
		return err
	}
	l.t.More, l.t.U = clone(l.t.More), clone(l.t.U)
	l.t.compute(d)
	if b := l.t.Bound[power(powerOf, d, "")]; slices.Contains(b, true) {
		l.t.Bound = clone(l.t.Bound)
		l.t.setBound(name, b)
	}
	return nil
}

// twice refuses a figure that the file has besides the powers that it follows from.
func (l *losses) twice(name string) error {
	if l.t.Figure(name) != nil {
		return &Refusal{File: l.t.File.Name, Sheet: l.t.Sheet, Found: "a column " + name +
			" and powers that it follows from", Want: "one of them"}
	}
	return nil
}

// compute sets the losses of a direction from its powers over reference.
func (t *Table) compute(direction string) {
	if d := t.fourOf(direction); d != nil {
		t.computeFour(direction, d)
		return
	}
	one := t.divided[direction]
	if one == nil {
		return
	}
	name := InsertionLoss
	if direction == backward {
		name = Isolation
	}
	values, u := make([]float64, len(one.dB)), make([]float64, len(one.dB))
	for i, v := range one.dB {
		values[i], u[i] = -v, missing
		if v == v {
			u[i] = math.Hypot(one.noise(i), t.referenceNoise(one, i))
		}
	}
	t.enter(name, values, u)
}

// enter sets a figure and its uncertainty, where there is one.
func (t *Table) enter(name string, values, u []float64) {
	t.setFigure(name, values)
	if slices.ContainsFunc(u, func(v float64) bool { return v > 0 }) {
		t.setU(name, u)
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
		t.Warnings = append(t.Warnings, "the age of the reference of "+t.File.Name+" is not known: lines \"# "+
			"measured:\" and \"# reference taken:\" with dates would tell")
		return
	case days < 0:
		t.Warnings = append(t.Warnings, fmt.Sprintf("the reference of %s was taken %s after the measurement",
			t.File.Name, inDays(-days)))
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

// elsewhere warns of a reference at a temperature that is none of the readings'.
func (t *Table) elsewhere(ref *Table) {
	if ref.Temperature == nil || t.Temperature == nil || ref.Rows() == 0 || ref == t ||
		&ref.Temperature[0] == &t.Temperature[0] {
		return
	}
	for _, run := range ref.Runs() {
		for _, own := range t.Runs() {
			if math.Abs(float64(own.Temperature-run.Temperature)) <= longestDrift {
				return
			}
		}
	}
	t.Warnings = append(t.Warnings, fmt.Sprintf("the reference %s was taken at %s, and no reading of %s is within %d "+
		"K of that: what the fixture loses at other temperatures is not taken off",
		ref.File.Name, celsius(ref.Runs()[0].Temperature), t.File.Name, longestDrift))
}
