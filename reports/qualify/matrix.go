package qualify

import (
	"fmt"
	"slices"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/limits"
)

// Test is one test of a sequence with what its units showed.
type Test struct {
	Name     string // "damp heat"
	Standard string // "IEC 61300-2-19"
	Severity string // "40 °C, 93 % RH"
	Duration string // "96 h"
	Plan     Plan
	Units    []Unit
	Common   []string // contributions that cancel in its changes
}

// Unit is what one unit showed in a test.
type Unit struct {
	Name    string
	Changes []Change
	After   document.Outcome // conformity to the limits after the test; 0: not examined
	Missing string           // why there is no result; "" where there is one
}

// Outcome is the worst of what the unit showed; a unit without a result is undecided.
func (u Unit) Outcome() document.Outcome {
	if u.Missing != "" {
		return document.Undecided
	}
	all := []document.Outcome{}
	for _, c := range u.Changes {
		all = append(all, c.Outcome)
	}
	if u.After != 0 {
		all = append(all, u.After)
	}
	return limits.Worst(all...)
}

// Count returns how many units failed and of how many it is not decided.
func (t Test) Count() (failed, undecided int) {
	for _, u := range t.Units {
		switch u.Outcome() {
		case document.Fail:
			failed++
		case document.Undecided:
			undecided++
		}
	}
	return failed, undecided
}

// Outcome judges the test by its plan: it fails when more units fail than are allowed, and passes when even with all
// undecided units counted as failures there are no more, in a sample of the size planned.
func (t Test) Outcome() document.Outcome {
	failed, undecided := t.Count()
	switch {
	case failed > t.Plan.Allowed:
		return document.Fail
	case len(t.Units) < t.Plan.Units || failed+undecided > t.Plan.Allowed:
		return document.Undecided
	}
	return document.Pass
}

// Requirement is what the design must do, and the tests that are its evidence, by name.
type Requirement struct {
	Text     string
	Evidence []string
}

// Deviation is something done otherwise than planned, or a result that is accepted in spite of a limit. A waiver is
// said beside the outcome and does not change it.
type Deviation struct {
	Test, Text string
	Waiver     string // who accepted it and by what document; "" for none
}

// Qualification is a sequence of tests with what they are evidence of.
type Qualification struct {
	Tests        []Test
	Requirements []Requirement
	Deviations   []Deviation
}

// Check reports names that lead nowhere.
func (q Qualification) Check() error {
	var names []string
	for _, t := range q.Tests {
		if slices.Contains(names, t.Name) {
			return fmt.Errorf("two tests are called %q; names must differ", t.Name)
		}
		names = append(names, t.Name)
	}
	known := func(name, where string) error {
		if !slices.Contains(names, name) {
			return fmt.Errorf("%s names the test %q; the tests are %s", where, name, strings.Join(names, ", "))
		}
		return nil
	}
	for _, r := range q.Requirements {
		for _, name := range r.Evidence {
			if err := known(name, fmt.Sprintf("requirement %q", r.Text)); err != nil {
				return err
			}
		}
	}
	for _, d := range q.Deviations {
		if err := known(d.Test, "a deviation"); err != nil {
			return err
		}
	}
	return nil
}

// Shown is whether the tests show a requirement: the worst of its evidence, undecided without any.
func (q Qualification) Shown(r Requirement) document.Outcome {
	var all []document.Outcome
	for _, t := range q.Tests {
		if slices.Contains(r.Evidence, t.Name) {
			all = append(all, t.Outcome())
		}
	}
	return limits.Worst(all...)
}

// Outcome is the worst of all tests and of all requirements.
func (q Qualification) Outcome() document.Outcome {
	var all []document.Outcome
	for _, t := range q.Tests {
		all = append(all, t.Outcome())
	}
	for _, r := range q.Requirements {
		all = append(all, q.Shown(r))
	}
	return limits.Worst(all...)
}
