package qualify

import (
	"fmt"
	"math"

	"wedgework/reports/document"
)

// confidence is that of the bound on the share of units that would fail, as LTPD plans have it.
const confidence = 0.9

// Sentence is the outcome of the test, and what its units prove of all such units.
func (t Test) Sentence() string {
	failed, undecided := t.Count()
	s := fmt.Sprintf("%s: %s; of %s tested (%d planned) %d failed, %d allowed", t.Name, t.Outcome(),
		document.Count(len(t.Units), "unit"), t.Plan.Units, failed, t.Plan.Allowed)
	if undecided > 0 {
		s += fmt.Sprintf("; %d undecided", undecided)
	}
	if n := len(t.Units); n > 0 && undecided == 0 {
		s += fmt.Sprintf("; with %g %% confidence, at most %s %% of all such units would fail", 100*confidence,
			Percent(Bound(failed, n, confidence)))
	}
	return s
}

// Sentence is the outcome of all tests and requirements together.
func (q Qualification) Sentence() string {
	pass, shown := 0, 0
	for _, t := range q.Tests {
		if t.Outcome() == document.Pass {
			pass++
		}
	}
	for _, r := range q.Requirements {
		if q.Shown(r) == document.Pass {
			shown++
		}
	}
	s := document.Passing(pass, len(q.Tests), "test")
	if n := len(q.Requirements); n > 0 {
		s += fmt.Sprintf("; %d of %s shown", shown, document.Count(n, "requirement"))
	}
	return s
}

// Percent writes a share in per cent: one decimal, and below 1 % so many that a digit shows.
func Percent(share float64) string {
	digits := 1
	if share < 0.01 {
		digits = 1 + int(math.Ceil(-math.Log10(max(share, 1e-6)*100)))
	}
	return fmt.Sprintf("%.*f", digits, 100*share)
}
