package recording

import (
	"wedgework/reports/qualify"
	"wedgework/reports/record"
	"wedgework/reports/verify/text"
)

// Qualification returns the record of a qualification.
func Qualification(q qualify.Qualification) record.Qualification {
	r := record.Qualification{Verdict: record.Verdict{Subject: "qualification", Outcome: q.Outcome().String(),
		Sentence: q.Sentence()}, Tests: []record.Test{}}
	for _, t := range q.Tests {
		r.Tests = append(r.Tests, Test(t))
	}
	for _, one := range q.Requirements {
		r.Requirements = append(r.Requirements, record.Requirement{Requirement: one.Text, Evidence: one.Evidence,
			Outcome: q.Shown(one).String()})
	}
	for _, d := range q.Deviations {
		r.Deviations = append(r.Deviations, record.Deviation{Test: d.Test, Deviation: d.Text, Waiver: d.Waiver})
	}
	return r
}

// Test returns the record of one test of a qualification.
func Test(t qualify.Test) record.Test {
	failed, undecided := t.Count()
	r := record.Test{Test: t.Name, Standard: t.Standard, Severity: t.Severity, Duration: t.Duration,
		Planned: t.Plan.Units, Allowed: t.Plan.Allowed, Tested: len(t.Units), Failed: failed, Undecided: undecided,
		Outcome: t.Outcome().String(), Sentence: t.Sentence(), Common: t.Common}
	for _, u := range t.Units {
		for _, c := range u.Changes {
			unit := c.Limit.Quantity.Unit()
			one := record.Changed{Unit: u.Name, Quantity: string(c.Limit.Quantity), Over: text.Condition(c.Limit),
				QuantityIn: unit, Limit: record.InUnit(c.Limit.Value, unit), Outcome: c.Outcome.String(),
				Why: c.Undetermined}
			if c.Undetermined == "" || c.Standard > 0 {
				one.Before, one.After = record.InUnit(c.Before, unit), record.InUnit(c.After, unit)
				one.Change, one.Uncertainty = record.InUnit(c.Measured, unit), record.InUnit(c.Expanded, unit)
			}
			r.Changes = append(r.Changes, one)
		}
	}
	return r
}
