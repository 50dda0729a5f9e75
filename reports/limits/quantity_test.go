package limits

import (
	"strings"
	"testing"

	"wedgework/reports/document"
)

// Every quantity says in help and reports what it bounds, from which side, by which standard it is measured, and how a
// cell writes a limit on it.
func TestQuantitiesSayWhatTheyAre(t *testing.T) {
	for q := range table {
		if q.Doc() == "" || q.Source() == "" || q.Extreme() == "" || q.Unit() == "" {
			t.Errorf("%s: doc %q, source %q, extreme %q, unit %q", q, q.Doc(), q.Source(), q.Extreme(), q.Unit())
		}
		side, example := "at most", "at_most("
		if q.AtLeast() {
			side, example = "at least", "at_least("
		}
		if q.Side() != side || !strings.HasPrefix(q.Example(), example) ||
			!strings.HasSuffix(q.Example(), "*"+q.Unit()+")") {
			t.Errorf("%s: side %q, example %q, unit %q", q, q.Side(), q.Example(), q.Unit())
		}
	}
	if got := Quantity("noise_figure").String(); got != "noise figure" {
		t.Errorf("a quantity that is none reads %q", got)
	}
}

// The risks of a decision belong to its outcome.
func TestRisksOfOutcomes(t *testing.T) {
	for _, c := range []struct {
		outcome          document.Outcome
		accepted, failed float64
	}{{document.Pass, 0.25, 0}, {document.Fail, 0, 0.75}, {document.Undecided, 0, 0}} {
		d := Decision{Outcome: c.outcome, Conformance: 0.75}
		if d.FalseAcceptance() != c.accepted || d.FalseRejection() != c.failed {
			t.Errorf("%v: false acceptance %g, false rejection %g, want %g and %g", c.outcome, d.FalseAcceptance(),
				d.FalseRejection(), c.accepted, c.failed)
		}
	}
	if a, b := (Rule{}).Brief(), (Rule{Guard: 0.8}).Brief(); a != "simple" || b != "guarded, r = 0.8" {
		t.Errorf("rules in brief: %q, %q", a, b)
	}
}
