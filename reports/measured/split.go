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
		parts[k] = t.pick(rows[u])
	}
	return parts
}

// pick returns a table of the given rows. The heads, the metadata and the file stay.
func (t *Table) pick(rows []int) *Table {
	p := *t
	p.Wavelength = some(t.Wavelength, rows)
	p.Temperature = some(t.Temperature, rows)
	p.Repeat = some(t.Repeat, rows)
	p.Units = some(t.Units, rows)
	p.Lots = some(t.Lots, rows)
	p.Line = some(t.Line, rows)
	for _, name := range order {
		if f := p.figure(name); f != nil {
			*f = some(*f, rows)
		}
	}
	if t.U != nil {
		p.U = make(map[string][]float64, len(t.U))
		for name, u := range t.U {
			p.U[name] = some(u, rows)
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
