package recording_test

import (
	"strings"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/qualify"
	"wedgework/reports/record"
	"wedgework/reports/recording"
)

// A test without a change that fails, one with, and a requirement without evidence: the record says of each what was
// shown, and a figure that nobody has is no number in it.
func TestQualificationRecord(t *testing.T) {
	change := func(o document.Outcome, measured float64) qualify.Change {
		return qualify.Change{Decision: limits.Decision{Limit: limits.Limit{Quantity: limits.InsertionLoss, Value: 0.2},
			Outcome: o, Measured: measured, Standard: 0.01, Expanded: 0.02}, Before: 0.33, After: 0.33 + measured}
	}
	unknown := qualify.Change{Decision: limits.Decision{Limit: limits.Limit{Quantity: limits.InsertionLoss, Value: 0.2},
		Outcome: document.Undecided}, Undetermined: "a measurement has no figure"}
	unit := func(name string, c qualify.Change) qualify.Unit {
		return qualify.Unit{Name: name, Changes: []qualify.Change{c}, After: document.Pass}
	}
	q := qualify.Qualification{
		Tests: []qualify.Test{
			{Name: "damp heat", Plan: qualify.Plan{Units: 2}, Units: []qualify.Unit{
				unit("1", change(document.Pass, 0.012)), unit("2", change(document.Pass, -0.004))}},
			{Name: "vibration", Plan: qualify.Plan{Units: 2, Allowed: 1}, Units: []qualify.Unit{
				unit("1", change(document.Fail, 0.26)), unit("2", unknown)}},
		},
		Requirements: []qualify.Requirement{{Text: "R1", Evidence: []string{"damp heat"}}, {Text: "R2"}},
		Deviations:   []qualify.Deviation{{Test: "vibration", Text: "two axes of three", Waiver: "WV-1"}},
	}
	r := recording.Qualification(q)
	if r.Verdict.Outcome != "undecided" || r.Passes() || r.Verdict.Sentence != "1 of 2 tests passes; 1 of 2 requirements shown" {
		t.Errorf("verdict %+v", r.Verdict)
	}
	heat, vibration := r.Tests[0], r.Tests[1]
	if heat.Outcome != "pass" || heat.Failed != 0 || !strings.Contains(heat.Sentence, "at most 68.4 %") { // 1 - sqrt(0.1)
		t.Errorf("damp heat: %+v", heat)
	}
	if vibration.Outcome != "undecided" || vibration.Failed != 1 || vibration.Undecided != 1 {
		t.Errorf("vibration: %+v", vibration)
	}
	if c := heat.Changes[0]; c.Before != "0.33" || c.After != "0.34" || c.Change != "0.01" || c.Limit != "0.20" {
		t.Errorf("a change: %+v", c)
	}
	if c := vibration.Changes[1]; c.Change != record.Number("") || c.Why == "" {
		t.Errorf("a change that is not known: %+v", c)
	}
	if r.Requirements[0].Outcome != "pass" || r.Requirements[1].Outcome != "undecided" || r.Deviations[0].Waiver != "WV-1" {
		t.Errorf("requirements %+v, deviations %+v", r.Requirements, r.Deviations)
	}
	whole := &record.Record{Qualifications: []record.Qualification{r}}
	if whole.Passes() {
		t.Error("a record whose qualification is undecided passes")
	}
}
