package compose

import (
	"fmt"
	"regexp"
	"strings"

	"wedgework/reports/document"
)

// hyphen finds a hyphen that stands for a minus sign: before a digit, after a space, an opening or a sign.
var hyphen = regexp.MustCompile(`(^|[\s(=±])-(\d)`)

// set puts a sentence as a page has it: minus signs, a capital unless it begins with a name of the notebook's, a
// full stop.
func set(s string) string {
	s = hyphen.ReplaceAllString(strings.TrimSpace(s), "${1}"+minus+"${2}")
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

// brief writes conditions in fewer letters, for a table: "1535 to 1565 nm, 23 °C".
func brief(s string) string { return span.ReplaceAllString(s, "$1 to $3 $4") }

// signs sets minus signs and nothing else: what a table cell needs.
func signs(s string) string { return hyphen.ReplaceAllString(s, "${1}"+minus+"${2}") }

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
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
					b.Caption = fmt.Sprintf("Figure %d. %s", figures, b.Caption)
				}
				s.Blocks[i] = b
			case document.Table:
				if b.Caption != "" {
					tables++
					b.Caption = fmt.Sprintf("Table %d. %s", tables, b.Caption)
				}
				for r, row := range b.Rows {
					kept := make([]string, len(row)) // the outcome's own table stays as it is
					for c, cell := range row {
						kept[c] = cell
						if !b.Columns[c].Mono {
							kept[c] = signs(cell)
						}
					}
					b.Rows[r] = kept
				}
				s.Blocks[i] = b
			}
		}
	}
}
