package compose

import (
	"fmt"
	"slices"

	"wedgework/reports/document"
	"wedgework/reports/record"
)

// data tells how the units were measured and what was found wrong with it. What all have in common stands once.
func data(s Source) []document.Section {
	all := s.units()
	if len(all) == 0 {
		return nil
	}
	b := []document.Block{
		document.Plain("Attenuation is measured in accordance with IEC 61300-3-4 and polarization-dependent loss " +
			"(PDL) in accordance with IEC 61300-3-2; isolation is the backward loss of IEC 61202-1. Losses in dB are " +
			"positive; connectors are excluded."),
	}
	b = append(b, stated(all)...)
	for _, t := range []document.Table{
		merged(all, "Measured sweeps", columns(">Temperature (°C)", ">Wavelength (nm)", ">Backward readings",
			">Forward readings"), sweeps),
		merged(all, "Checks of the data", columns("Check", "Outcome", "Finding"), checks),
	} {
		b = append(b, t)
	}
	var items [][]document.Block
	for _, r := range gathered(all, func(u unit) [][]string {
		var rows [][]string
		for _, n := range u.Notes {
			rows = append(rows, []string{document.Sentence(n)})
		}
		return rows
	}) {
		text := r.cells[0]
		if len(r.of) < len(all) {
			text = document.Capital(who(r.of, all)) + ": " + text
		}
		items = append(items, []document.Block{document.Plain(text)})
	}
	if len(items) > 0 {
		b = append(b, document.Heading{Level: 2, Text: "How the figures were obtained"}, document.List{Items: items})
	}
	return []document.Section{{Title: "Measurement", Level: 1, Blocks: b}}
}

// stated shows the metadata of the files: what is the same in all as fields, the rest as a table with a row for each
// unit.
func stated(all []unit) []document.Block {
	f := document.Fields{Caption: "Stated in the file of readings"}
	if len(all) > 1 {
		f.Caption = "Stated in the files of readings, the same for every unit"
	}
	var differing []string // keys
	for _, u := range all {
		for _, m := range u.found.Meta {
			seen := slices.Contains(differing, m[0]) || slices.ContainsFunc(f.Rows,
				func(r document.Field) bool { return r.Name == m[0] })
			switch {
			case seen:
			case slices.ContainsFunc(all, func(o unit) bool { return !slices.Contains(o.found.Meta, m) }):
				differing = append(differing, m[0])
			default:
				f.Rows = append(f.Rows, document.Field{Name: m[0], Value: m[1]})
			}
		}
	}
	var b []document.Block
	if len(f.Rows) > 0 {
		b = append(b, f)
	}
	if i := slices.Index(differing, "unit"); i >= 0 {
		differing = slices.Delete(differing, i, i+1)
	}
	if len(differing) == 0 {
		return b
	}
	t := document.Table{Caption: "Stated in the files of readings, unit by unit",
		Columns: columns(append([]string{"Unit"}, differing...)...), Compact: true}
	for _, u := range all {
		row := []string{u.Called()}
		for _, key := range differing {
			row = append(row, orElseText(meta(u.found, key), "–"))
		}
		t.Rows = append(t.Rows, row)
	}
	return append(b, t)
}

func orElseText(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

func sweeps(u unit) [][]string {
	var rows [][]string
	for _, s := range u.Sweeps {
		rows = append(rows, []string{s.Temperature.Text(), record.Between(s.Low, s.High), fmt.Sprint(s.Isolations),
			fmt.Sprint(s.Losses)})
	}
	return rows
}

func checks(u unit) [][]string {
	var rows [][]string
	for _, c := range u.Checks {
		rows = append(rows, []string{c.Name, outcome(c.Outcome), document.Brief(c.Finding)})
	}
	return rows
}

// outcome words an outcome of the record on a page.
func outcome(s string) string {
	if document.OutcomeOf(s) == 0 {
		return "not checked"
	}
	return s
}

// gatheredRow is a row and the units that have it.
type gatheredRow struct {
	cells []string
	of    []unit
}

// gathered merges rows that are the same for several units; a row stands after those with the same first cell.
func gathered(all []unit, rows func(unit) [][]string) []gatheredRow {
	var out []gatheredRow
	for _, u := range all {
		after := 0 // where a row not met before goes
		for _, cells := range rows(u) {
			i := slices.IndexFunc(out, func(r gatheredRow) bool { return slices.Equal(r.cells, cells) })
			if i < 0 {
				i = after
				for k := range out {
					if out[k].cells[0] == cells[0] {
						i = max(i, k+1)
					}
				}
				out = slices.Insert(out, i, gatheredRow{cells: cells})
			}
			out[i].of = append(out[i].of, u)
			after = i + 1
		}
	}
	return out
}

// merged is a table of rows, each once, that says which units have it where some have not.
func merged(all []unit, caption string, heads []document.Column, rows func(unit) [][]string) document.Table {
	t := document.Table{Caption: caption, Columns: heads}
	list := gathered(all, rows)
	parted := slices.ContainsFunc(list, func(r gatheredRow) bool { return len(r.of) < len(all) })
	if parted {
		t.Columns = append(t.Columns, columns("Units")...)
	}
	if len(all) > 1 && !parted {
		t.Caption += ", the same for every unit"
	}
	for _, r := range list {
		cells := slices.Clone(r.cells)
		if parted {
			cells = append(cells, who(r.of, all))
		}
		t.Rows = append(t.Rows, cells)
	}
	return t
}
