package measured

import "slices"

// Split returns one table per unit, in the order in which the units first occur; a file without a unit
// column gives itself. Lines keep the numbers of the file.
func (t *Table) Split() []*Table {
	rows := map[string][]int{}
	var units []string
	for i, u := range t.Units {
		if rows[u] == nil {
			units = append(units, u)
		}
		rows[u] = append(rows[u], i)
	}
	if len(units) < 2 {
		return []*Table{t}
	}
	parts := make([]*Table, len(units))
	for k, u := range units {
		parts[k] = t.Pick(rows[u])
	}
	return parts
}

// Pick returns a table of the given rows, in the given order. The heads, the metadata and the file stay.
func (t *Table) Pick(rows []int) *Table {
	p := *t
	p.Wavelength = some(t.Wavelength, rows)
	p.Temperature = some(t.Temperature, rows)
	p.Repeat = some(t.Repeat, rows)
	p.Units = some(t.Units, rows)
	p.Lots = some(t.Lots, rows)
	p.Line = some(t.Line, rows)
	p.Origins = some(t.Origins, rows)
	p.Steps, p.stepTo = some(t.Steps, rows), some(t.stepTo, rows)
	for _, name := range figures {
		if f := p.figure(name); f != nil {
			*f = some(*f, rows)
		}
	}
	p.More, p.Raw, p.U = someOf(t.More, rows), someOf(t.Raw, rows), someOf(t.U, rows)
	p.Bound, p.Spread, p.Count = someOf(t.Bound, rows), someOf(t.Spread, rows), someOf(t.Count, rows)
	if t.divided != nil {
		p.divided = make(map[string]*division, len(t.divided))
		for name, d := range t.divided {
			p.divided[name] = d.pick(rows)
		}
	}
	p.Columns = slices.Clone(t.Columns)
	for i := range p.Columns {
		p.Columns[i].Fields = some(p.Columns[i].Fields, rows)
	}
	return &p
}

func some[T any](all []T, rows []int) []T {
	if all == nil {
		return nil
	}
	s := make([]T, len(rows))
	for i, r := range rows {
		s[i] = all[r]
	}
	return s
}

func someOf[T any](all map[string][]T, rows []int) map[string][]T {
	if all == nil {
		return nil
	}
	m := make(map[string][]T, len(all))
	for name, values := range all {
		m[name] = some(values, rows)
	}
	return m
}
