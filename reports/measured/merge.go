package measured

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"wedgework/optics/quantity"
)

// Collect brings files together, in their order: a file that holds several units is parted, and what files say of the
// same unit becomes one table. Files that name no unit stay apart. A file that gives readings of a unit again, at
// another time as its metadata state it, is another test of that unit, and a table of its own. Files that give the same
// reading otherwise or contradict each other in lot or source polarization are refused, as are a file that comes twice
// and one that could belong to either of several tests.
func Collect(tables ...*Table) ([]*Table, error) {
	for i, t := range tables {
		for _, u := range tables[:i] {
			if t.File.SHA256 == u.File.SHA256 && t.Sheet == u.Sheet {
				return nil, &Refusal{File: t.File.Name, Sheet: t.Sheet, Found: "the bytes of " + u.File.Name + " again",
					Want: "each file once"}
			}
		}
	}
	var all []*Table
	tests := map[string][]int{} // of a unit, where they stand in all
	for _, t := range tables {
		for _, part := range t.Split() {
			unit := part.Unit()
			at, merged, err := testOf(all, tests[unit], part)
			if err != nil {
				return nil, err
			}
			if unit == "" || at < 0 {
				tests[unit] = append(tests[unit], len(all))
				all = append(all, part)
				continue
			}
			all[at] = merged
		}
	}
	return all, nil
}

// testOf finds the test of a unit that another file of it completes: the one whose readings it does not repeat, and of
// several such the one that states the same time. at is -1 for a file that repeats readings of all: it is another test.
func testOf(all []*Table, tests []int, part *Table) (at int, merged *Table, err error) {
	at = -1
	if part.Unit() == "" {
		return at, nil, nil
	}
	fits := 0
	for _, k := range tests {
		m, err := merge(all[k], part)
		if err != nil {
			return -1, nil, err
		}
		was, is := all[k].measuredOn(), part.measuredOn()
		same := was == is
		if err := m.conflict(all[k].Rows()); err != nil {
			if same || was == "" || is == "" {
				return -1, nil, err // not told to be another test
			}
			continue
		}
		if fits++; at < 0 || same {
			at, merged = k, m
		}
		if same {
			return at, merged, nil
		}
	}
	if fits > 1 {
		return -1, nil, &Refusal{File: part.File.Name, Sheet: part.Sheet,
			Found: fmt.Sprintf("readings of unit %s that could belong to either of %d tests",
				part.Unit(), fits), Want: "a line such as # measured: 2026-11-18 as in the other files of its test"}
	}
	return at, merged, nil
}

// measuredOn is when the readings were taken, as the file states it.
func (t *Table) measuredOn() string {
	for _, kv := range t.Meta {
		if keyOf(kv.Key) == "measured" {
			return kv.Value
		}
	}
	return ""
}

// merge adds the rows of b to those of a, another file of the same unit; readings that both give stand twice.
func merge(a, b *Table) (*Table, error) {
	if err := agree(a, b); err != nil {
		return nil, err
	}
	m := a.Pick(sequence(a.Rows()))
	m.Sources = slices.Clone(a.sources())
	shift := len(m.Sources)
	m.Sources = append(m.Sources, b.sources()...)
	m.Origins = m.Origins[:0:0]
	for i := range a.Rows() {
		m.Origins = append(m.Origins, a.Origin(i))
	}
	for i := range b.Rows() {
		var o []Origin
		for _, from := range b.Origin(i) {
			o = append(o, Origin{from.Source + shift, from.Line})
		}
		m.Origins = append(m.Origins, o)
	}
	m.Wavelength = append(m.Wavelength, b.Wavelength...)
	m.Temperature = append(m.Temperature, b.Temperature...)
	m.Line = append(m.Line, b.Line...)
	na, nb := a.Rows(), b.Rows()
	m.Repeat = join(a.Repeat, b.Repeat, na, nb, 1)
	m.Units = join(a.Units, b.Units, na, nb, a.Unit())
	if a.Lots != nil || b.Lots != nil {
		m.Lots = join(a.Lots, b.Lots, na, nb, cmp.Or(a.Lot(), b.Lot()))
	}
	m.Steps = join(a.Steps, b.Steps, na, nb, [2]quantity.Length{})
	m.stepTo = nil // Origins say it
	m.last = coarser(a.last, b.last)
	for _, name := range figures {
		if v := join(a.Figure(name), b.Figure(name), na, nb, missing); v != nil {
			m.setFigure(name, v)
		}
	}
	m.Raw = joinAll(a.Raw, b.Raw, na, nb, missing)
	m.U = joinAll(a.U, b.U, na, nb, missing)
	m.Bound = joinAll(a.Bound, b.Bound, na, nb, false)
	m.mergeReferences(a, b)
	m.mergeText(a, b)
	return m, nil
}

// coarser returns the last digits that hold for the columns of both files.
func coarser(a, b map[string]float64) map[string]float64 {
	m := maps.Clone(a)
	for name, v := range b {
		if m == nil {
			m = map[string]float64{}
		}
		m[name] = max(m[name], v)
	}
	return m
}

// agree refuses files of one unit that contradict each other in what a verification reads.
func agree(a, b *Table) error {
	for _, key := range []struct {
		name string
		of   func(*Table) string
	}{
		{LotName, (*Table).Lot},
		{ConditionName, func(t *Table) string { return t.Condition }},
		{polarizationKey, func(t *Table) string { return string(t.Polarization()) }},
	} {
		if va, vb := key.of(a), key.of(b); va != vb && va != "" && vb != "" {
			return &Refusal{File: b.File.Name, Sheet: b.Sheet, Found: fmt.Sprintf("%s %s of unit %s", key.name, vb,
				b.Unit()),
				Want: fmt.Sprintf("%s as in %s, another file of that unit", va, a.File.Name)}
		}
	}
	if (a.Temperature == nil) != (b.Temperature == nil) {
		return &Refusal{File: b.File.Name, Sheet: b.Sheet, Found: "a trace with temperatures beside one without",
			Want: "files of one kind for a unit"}
	}
	return nil
}

// conflict refuses a reading that both files give; the rows of the second begin at from.
func (t *Table) conflict(from int) error {
	names, columns := t.readings()
	seen := newLastTaken(columns)
	var first *Refusal
	row := t.Rows()
	for rows := range t.places(true) {
		seen.clear()
		for _, i := range rows {
			if i < from {
				seen.put(i)
				continue
			}
			for c, j := range seen.last {
				if j >= 0 && columns[c][i] == columns[c][i] && i < row {
					row = i
					at := t.Source(t.Origin(i)[0].Source)
					first = &Refusal{File: at.File.Name, Sheet: at.Sheet, Line: t.Line[i],
						Found: fmt.Sprintf("a reading of %s of unit %s that %s gives too", names[c], t.Unit(),
							t.Place(j)),
						Want: "other wavelengths or temperatures, or a column repeat that numbers the sweeps, or for " +
							"a retest a time of its own, as in # measured: 2026-11-18 14:30"}
				}
			}
		}
	}
	if first != nil {
		return first
	}
	return nil
}

// sources lists the files of a table, its own when there are no others.
func (t *Table) sources() []Source {
	if t.Sources == nil {
		return []Source{{t.File, t.Sheet}}
	}
	return t.Sources
}

// mergeText brings metadata, remarks, columns and warnings together. A key that both give alike stays once; one
// that they give differently stays twice, and the first holds.
func (m *Table) mergeText(a, b *Table) {
	m.Meta = slices.Clone(a.Meta)
	for _, kv := range b.Meta {
		if !slices.ContainsFunc(a.Meta, func(o KeyValue) bool {
			return keyOf(o.Key) == keyOf(kv.Key) &&
				o.Value == kv.Value
		}) {
			m.Meta = append(m.Meta, kv)
		}
	}
	m.Remarks = append(slices.Clone(a.Remarks), b.Remarks...)
	m.Warnings = append(slices.Clone(a.Warnings), b.Warnings...)
	m.Unknown = slices.Clone(a.Unknown)
	for _, u := range b.Unknown {
		if !slices.Contains(m.Unknown, u) {
			m.Unknown = append(m.Unknown, u)
		}
	}
	na, nb := a.Rows(), b.Rows()
	m.Columns = nil
	for _, c := range a.Columns {
		c.Fields = join(c.Fields, nil, na, nb, "")
		m.Columns = append(m.Columns, c)
	}
	for _, c := range b.Columns {
		same := func(o Column) bool {
			return o.Name == c.Name && o.Uncertainty == c.Uncertainty && (c.Name != "" || o.Head == c.Head)
		}
		at := slices.IndexFunc(m.Columns, same)
		switch {
		case at < 0:
			c.Fields = join(nil, c.Fields, na, nb, "")
			m.Columns = append(m.Columns, c)
		case c.Name == "":
			m.Columns[at].Fields = append(m.Columns[at].Fields[:na:na], c.Fields...)
		}
	}
}

// join puts two columns one under the other; an absent one is filled, and two absent ones stay absent.
func join[T any](a, b []T, na, nb int, filling T) []T {
	if a == nil && b == nil {
		return nil
	}
	if a == nil {
		a = slices.Repeat([]T{filling}, na)
	}
	if b == nil {
		b = slices.Repeat([]T{filling}, nb)
	}
	return append(slices.Clip(a), b...)
}

func joinAll[T any](a, b map[string][]T, na, nb int, filling T) map[string][]T {
	if a == nil && b == nil {
		return nil
	}
	m := map[string][]T{}
	for name, v := range a {
		m[name] = join(v, b[name], na, nb, filling)
	}
	for name, v := range b {
		if _, ok := m[name]; !ok {
			m[name] = join(nil, v, na, nb, filling)
		}
	}
	return m
}

func sequence(n int) []int {
	s := make([]int, n)
	for i := range s {
		s[i] = i
	}
	return s
}
