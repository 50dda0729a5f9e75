package document

import (
	"strings"
	"unicode/utf8"
)

// table writes a table as columns parted by two spaces under a dashed rule. Cells are wrapped when the
// whole would be wider than textWidth; the widest columns give way first.
func (w *textWriter) table(t Table) {
	if t.Caption != "" {
		w.wrap("", "", t.Caption)
	}
	widths := t.textWidths(textWidth - utf8.RuneCountInString(w.indent))
	heads := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		heads[i] = c.Head
	}
	w.row(t.Columns, widths, heads)
	rule := make([]string, len(widths))
	for i, n := range widths {
		rule[i] = strings.Repeat("-", n)
	}
	w.line(strings.Join(rule, "  "))
	for _, r := range t.Rows {
		w.row(t.Columns, widths, r)
	}
	if t.Note != "" {
		w.wrap("", "", t.Note)
	}
}

// textWidths returns the width of each column in characters.
func (t Table) textWidths(room int) []int {
	widths := make([]int, len(t.Columns))
	longest := make([]int, len(t.Columns)) // word: a column is never narrower
	measure := func(i int, cell string) {
		for _, l := range strings.Split(cell, "\n") {
			widths[i] = max(widths[i], utf8.RuneCountInString(l))
		}
		for _, word := range strings.Fields(cell) {
			longest[i] = max(longest[i], utf8.RuneCountInString(word))
		}
	}
	for i, c := range t.Columns {
		measure(i, c.Head)
		for _, r := range t.Rows {
			if i < len(r) {
				measure(i, r[i])
			}
		}
	}
	total := 2 * max(len(widths)-1, 0)
	for _, n := range widths {
		total += n
	}
	for total > room {
		wide := -1
		for i, n := range widths {
			if n > longest[i] && (wide < 0 || n > widths[wide]) {
				wide = i
			}
		}
		if wide < 0 {
			break // words alone are wider than the room: let the line run over
		}
		widths[wide]--
		total--
	}
	return widths
}

// row writes one row, over as many lines as its longest cell needs. Cells beyond the columns are left out;
// Document values are built by the program, and reports/pdf refuses such a table by name.
func (w *textWriter) row(cols []Column, widths []int, cells []string) {
	lines := make([][]string, len(cols))
	deep := 1
	for i := range cols {
		if i < len(cells) {
			for _, l := range strings.Split(cells[i], "\n") {
				lines[i] = append(lines[i], wrapWords(l, widths[i])...)
			}
		}
		deep = max(deep, len(lines[i]))
	}
	for k := range deep {
		parts := make([]string, len(cols))
		for i, c := range cols {
			cell := ""
			if k < len(lines[i]) {
				cell = lines[i][k]
			}
			parts[i] = pad(cell, widths[i], c.Align)
		}
		w.line(strings.Join(parts, "  "))
	}
}

func pad(s string, width int, a Align) string {
	n := max(width-utf8.RuneCountInString(s), 0)
	switch a {
	case Right:
		return strings.Repeat(" ", n) + s
	case Centre:
		return strings.Repeat(" ", n/2) + s + strings.Repeat(" ", n-n/2)
	}
	return s + strings.Repeat(" ", n)
}
