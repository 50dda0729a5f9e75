package compose

import (
	"cmp"
	"fmt"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/record"
)

// qualificationVerdicts stand on the first page.
func (s Source) qualificationVerdicts() []document.Verdict {
	var all []document.Verdict
	for _, q := range s.Record.Qualifications {
		v := Verdict(q.Verdict)
		v.Sentence = document.Sentences(v.Sentence)
		all = append(all, v)
	}
	return all
}

// qualifications has the sequence of tests, what they are evidence of, and what was done otherwise.
func qualifications(s Source) []document.Section {
	var all []document.Section
	for _, q := range s.Record.Qualifications {
		b := QualificationTables(q)
		for _, t := range q.Tests {
			b = append(b, TestTables(t)...)
		}
		all = append(all, document.Section{Title: "Qualification", Level: 1, Blocks: b})
	}
	return all
}

// QualificationTables are the tests in their sequence, the requirements with their evidence, deviations and waivers.
func QualificationTables(q record.Qualification) []document.Block {
	b := []document.Block{sequenceTable(q.Tests)}
	if len(q.Requirements) > 0 {
		t := document.Table{Caption: "Requirements and their evidence", Columns: columns("Requirement", "Evidence",
			"Outcome")}
		for _, r := range q.Requirements {
			t.Rows = append(t.Rows, []string{r.Requirement, cmp.Or(strings.Join(r.Evidence, ", "), "none"), r.Outcome})
		}
		b = append(b, t)
	}
	if len(q.Deviations) > 0 {
		t := document.Table{Caption: "Deviations and waivers", Columns: columns("Test", "Deviation", "Waiver"),
			Note: "A waiver accepts a result; it does not change an outcome above."}
		for _, d := range q.Deviations {
			t.Rows = append(t.Rows, []string{d.Test, d.Deviation, cmp.Or(d.Waiver, "none")})
		}
		b = append(b, t)
	}
	return b
}

func sequenceTable(tests []record.Test) document.Table {
	t := document.Table{Caption: "Test sequence", Columns: columns(">No.", "Test", "Standard", "Severity", "Duration",
		">Units tested (planned)", ">Failed (allowed)", ">Undecided", "Outcome")}
	for i, one := range tests {
		t.Rows = append(t.Rows, []string{fmt.Sprint(i + 1), one.Test, cmp.Or(one.Standard, "–"),
			cmp.Or(one.Severity, "–"), cmp.Or(one.Duration, "–"), fmt.Sprintf("%d (%d)", one.Tested, one.Planned),
			fmt.Sprintf("%d (%d)", one.Failed, one.Allowed), fmt.Sprint(one.Undecided), one.Outcome})
	}
	return t
}

// TestTables are the changes of one test's units, and its outcome in a sentence.
func TestTables(t record.Test) []document.Block {
	table := document.Table{Caption: "Changes in the test " + t.Test, Columns: columns("Unit", "Change of", ">Before",
		">After", ">Change", ">U", ">Limit", "Outcome")}
	for _, c := range t.Changes {
		in := func(n record.Number) string {
			if n == "" {
				return "–"
			}
			return n.Text() + " " + c.QuantityIn
		}
		outcome := c.Outcome
		if c.Why != "" {
			outcome += ": " + c.Why
		}
		table.Rows = append(table.Rows, []string{c.Unit, strings.ReplaceAll(c.Quantity, "_", " ") + ", " + c.Over,
			in(c.Before), in(c.After), in(c.Change), in(c.Uncertainty), in(c.Limit), outcome})
	}
	if len(t.Common) > 0 {
		table.Note = "Errors common to both measurements cancel in a change: " + strings.ReplaceAll(
			strings.Join(t.Common, ", "), "_", " ") + "."
	}
	sentence := document.Plain(document.Capital(t.Sentence) + ".")
	if len(table.Rows) == 0 {
		return []document.Block{sentence}
	}
	return []document.Block{table, sentence}
}
