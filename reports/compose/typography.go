package compose

import (
	"fmt"
	"regexp"

	"wedgework/reports/document"
)

// word finds a head that begins with a word of the language, rather than a symbol or a name.
var word = regexp.MustCompile(`^[a-z]{3,}( |$)`)

// headline gives the head of a column a capital when it begins with a word.
func headline(s string) string {
	if word.MatchString(s) {
		return document.Capital(s)
	}
	return s
}

// number gives every figure and table with a caption its number, in the order of the pages.
func number(sections []document.Section) {
	var n numbers
	for _, s := range sections {
		for shorter := s.Shorter; shorter != nil; shorter = shorter.Shorter {
			same := n // it stands in the place of the longer one
			same.section(*shorter)
		}
		n.section(s)
	}
}

// numbers counts figures and tables.
type numbers struct{ figures, tables int }

func (n *numbers) section(s document.Section) {
	for i, b := range s.Blocks {
		switch b := b.(type) {
		case document.Figure:
			if b.Caption != "" {
				n.figures++
				b.Caption = fmt.Sprintf("Figure %d. %s", n.figures, document.Signs(b.Caption))
			}
			s.Blocks[i] = b
		case document.Table:
			if b.Caption != "" {
				n.tables++
				b.Caption = fmt.Sprintf("Table %d. %s", n.tables, document.Signs(b.Caption))
			}
			s.Blocks[i] = typeset(b)
		}
	}
}

// typeset gives the texts of a table the signs of print.
func typeset(b document.Table) document.Table {
	b.Note = document.Signs(b.Note)
	heads := make([]document.Column, len(b.Columns))
	for c, column := range b.Columns {
		heads[c] = column
		heads[c].Head = headline(document.Signs(column.Head))
	}
	b.Columns = heads
	rows := make([][]string, len(b.Rows)) // the outcome's own table stays as it is
	for r, row := range b.Rows {
		rows[r] = make([]string, len(row))
		for c, cell := range row {
			rows[r][c] = cell
			if !b.Columns[c].Mono {
				rows[r][c] = document.Brief(document.Signs(cell))
			}
		}
	}
	b.Rows = rows
	return b
}
