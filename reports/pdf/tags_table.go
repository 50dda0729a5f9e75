package pdf

import (
	"fmt"

	"wedgework/reports/document"
)

// tableTags makes the elements of a table's cells: those of the head, and then those of each row. The head of a column
// is that of the cells below it, the first cell of a row that of those beside it.
func (w *writer) tableTags(columns, rows int) [][]*element {
	out := make([][]*element, 0, rows+1)
	_, end := w.group("THead")
	out = append(out, w.rowTags(columns, columns, columnScope))
	end()
	if rows > 0 {
		_, end = w.group("TBody")
		defer end()
	}
	for range rows {
		out = append(out, w.rowTags(columns, 1, rowScope))
	}
	return out
}

// rowTags makes the elements of a row, of which some cells are heads.
func (w *writer) rowTags(columns, heads int, scope string) []*element {
	_, end := w.group("TR")
	defer end()
	cells := make([]*element, columns)
	for i := range cells {
		if i < heads {
			cells[i] = w.leaf("TH")
			cells[i].attributes = scope
		} else {
			cells[i] = w.leaf("TD")
		}
	}
	return cells
}

// noRows makes the element of the cell that says so, as wide as the table.
func (w *writer) noRows(columns int) *element {
	_, end := w.group("TBody")
	defer end()
	_, end = w.group("TR")
	defer end()
	cell := w.leaf("TD")
	cell.attributes = fmt.Sprintf("<</O/Table/ColSpan %d>>", columns)
	return cell
}

// fieldTags makes the elements of a name and its value, a row of a table.
func (w *writer) fieldTags() (name, value *element) {
	row := w.rowTags(2, 1, rowScope)
	return row[0], row[1]
}

// fitTag is fit for the text of an element, which holds all of it.
func (w *writer) fitTag(tag *element, s string, style document.Style, size, width float64) string {
	cut := w.fit(s, style, size, width)
	if whole := w.meta(s); len([]rune(cut)) < len([]rune(whole)) {
		tag.actual = whole
	}
	return cut
}

// verdictTags makes the elements of a verdict: an item of a list, the outcome as its label, the subject and the
// sentence as its body.
func (w *writer) verdictTags() (label, subject, sentence *element) {
	_, end := w.group("LI")
	defer end()
	label = w.leaf("Lbl")
	_, end = w.group("LBody")
	defer end()
	return label, w.leaf("P"), w.leaf("P")
}
