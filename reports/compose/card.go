package compose

import (
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/review"
)

// Card is what a notebook shows below a cell that verified a unit: what the page of a report has of it, by the same
// tables.
func Card(u record.Unit) []document.Block {
	title := "Verification"
	if u.Unit != "" {
		title += " of unit " + u.Unit
	}
	b := []document.Block{document.Heading{Level: 3, Text: title}}
	for _, v := range verdicts(u) {
		b = append(b, v)
	}
	if len(u.Limits) > 0 {
		b = append(b, LimitTable(u))
	}
	if u.Diagnosis.Sentence != "" {
		b = append(b, document.Plain(document.Sentences(u.Diagnosis.Sentence)))
	}
	if len(u.Diagnosis.Fitted) > 0 {
		b = append(b, FittedTable(u.Diagnosis))
	}
	return b
}

// DesignCard is what a notebook shows of the review of a design, by the same tables and picture as a report.
func DesignCard(r *review.Result, d record.Design) []document.Block {
	b := []document.Block{document.Heading{Level: 3, Text: "Design against limits: " + d.Design}}
	for _, v := range d.Verdicts {
		b = append(b, Verdict(v))
	}
	t := DesignTable(d)
	t.Note = strings.TrimSpace(t.Note + " " + designNote)
	b = append(b, t)
	if d.Yield != nil {
		b = append(b, yieldBlocks(*d.Yield)...)
	}
	if f, ok := DesignFigure(r, d); ok {
		b = append(b, f)
	}
	return b
}

// Outcomes lists the verdicts of several units, a row each.
func Outcomes(units []record.Unit) document.Table {
	t := document.Table{Caption: "Verdicts", Columns: columns("Unit"), Compact: true}
	for i, u := range units {
		row := []string{u.Called()}
		for _, v := range verdicts(u) {
			if i == 0 {
				t.Columns = append(t.Columns, document.Column{Head: v.Subject})
			}
			row = append(row, outcome(v.Outcome.String()))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
