package compose

import (
	"fmt"
	"regexp"
	"strings"

	"wedgework/reports/document"
)

// hyphen finds a hyphen that stands for a minus sign: before a number or a one-letter symbol, after a space, an
// opening or a sign.
var hyphen = regexp.MustCompile(`(^|[\s(=±])-(\d|[A-Za-z]\b)`)

// notation is what sentences carry in plain characters and a page has in print. The name of the normalized error
// is set without its stroke, for the face has no subscript n.
var notation = strings.NewReplacer("E_n", "En", "chi-squared", "χ²")

// set puts a sentence as a page has it: minus signs, a capital unless it begins with a name of the notebook's, a
// full stop.
func set(s string) string {
	s = brief(signs(strings.TrimSpace(s)))
	if s == "" {
		return s
	}
	first, _, _ := strings.Cut(s, " ")
	if !strings.ContainsAny(first, "._") {
		s = capital(s)
	}
	if !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}

// span finds a range whose unit is written twice.
var span = regexp.MustCompile(`(\S+) (nm|°C) to (\S+) (nm|°C)`)

// sentences is set for clauses joined by semicolons that are too long for one sentence.
func sentences(s string) string {
	clauses := strings.Split(s, "; ")
	for i, c := range clauses {
		clauses[i] = set(c)
	}
	return strings.Join(clauses, " ")
}

// brief writes conditions in fewer letters, for a table: "1535 to 1565 nm, 23 °C".
func brief(s string) string { return span.ReplaceAllString(s, "$1 to $3 $4") }

// signs sets minus signs and symbols and nothing else: what a table cell needs.
func signs(s string) string {
	return notation.Replace(hyphen.ReplaceAllString(s, "${1}"+minus+"${2}"))
}

// capital gives a text that begins with a plain letter a capital.
func capital(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// word finds a head that begins with a word of the language, rather than a symbol or a name.
var word = regexp.MustCompile(`^[a-z]{3,}( |$)`)

// headline gives the head of a column a capital when it begins with a word.
func headline(s string) string {
	if word.MatchString(s) {
		return capital(s)
	}
	return s
}

// number gives every figure and table with a caption its number, in the order of the pages.
func number(sections []document.Section) {
	figures, tables := 0, 0
	for _, s := range sections {
		for i, b := range s.Blocks {
			switch b := b.(type) {
			case document.Figure:
				if b.Caption != "" {
					figures++
					b.Caption = fmt.Sprintf("Figure %d. %s", figures, signs(b.Caption))
				}
				s.Blocks[i] = b
			case document.Table:
				if b.Caption != "" {
					tables++
					b.Caption = fmt.Sprintf("Table %d. %s", tables, signs(b.Caption))
				}
				b.Note = signs(b.Note)
				heads := make([]document.Column, len(b.Columns))
				for c, column := range b.Columns {
					heads[c] = column
					heads[c].Head = headline(column.Head)
				}
				b.Columns = heads
				rows := make([][]string, len(b.Rows)) // the outcome's own table stays as it is
				for r, row := range b.Rows {
					rows[r] = make([]string, len(row))
					for c, cell := range row {
						rows[r][c] = cell
						if !b.Columns[c].Mono {
							rows[r][c] = brief(signs(cell))
						}
					}
				}
				b.Rows = rows
				s.Blocks[i] = b
			}
		}
	}
}
