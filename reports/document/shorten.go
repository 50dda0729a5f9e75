package document

import "fmt"

// A table in a notebook shows so many rows at most, of a longer one its first and its last. A choice: about a
// screenful; the page of a report holds the whole table.
const (
	mostShown = 60
	firstRows = 30
	lastRows  = 20
)

// Shorten leaves out the middle of long tables, and says in a note under the table which rows those are.
func Shorten(blocks []Block) []Block {
	out := blocks
	for i, b := range blocks {
		t, ok := b.(Table)
		if !ok || len(t.Rows) <= mostShown {
			continue
		}
		if &out[0] == &blocks[0] {
			out = append([]Block(nil), blocks...)
		}
		gap := make([]string, len(t.Columns))
		for j := range gap {
			gap[j] = "\u2026"
		}
		n := len(t.Rows)
		rows := append(append([][]string{}, t.Rows[:firstRows]...), gap)
		t.Rows = append(rows, t.Rows[n-lastRows:]...)
		note := fmt.Sprintf("Rows %d to %d of %d are not shown here.", firstRows+1, n-lastRows, n)
		if t.Note != "" {
			note = t.Note + " " + note
		}
		t.Note = note
		out[i] = t
	}
	return out
}
