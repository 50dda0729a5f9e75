package compose

import (
	"strings"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
	"wedgework/reports/verify"
)

// The first page of several units: a judgement is that of the worst unit, the three stay apart, and whoever does not
// pass is named.
func TestSeveralUnitsTogether(t *testing.T) {
	unit := func(name string, agreement, conformity, quality document.Outcome) rerun.Verification {
		v := func(o document.Outcome) verify.Verdict { return verify.Verdict{Outcome: o, Sentence: "so it is"} }
		return rerun.Verification{Result: &verify.Result{Unit: name, Agreement: v(agreement), Conformity: v(conformity), Quality: v(quality)}}
	}
	const none = document.Outcome(0)
	s := Source{Record: &record.Record{}, Outcome: &rerun.Outcome{Verified: []rerun.Verification{
		unit("a", document.Pass, document.Undecided, document.Pass),
		unit("b", document.Pass, document.Fail, none),
		unit("c", document.Pass, document.Undecided, document.Pass),
	}}}
	want := []document.Verdict{
		{Subject: "model agreement", Outcome: document.Pass, Sentence: "3 of 3 units pass."},
		{Subject: "limit conformity", Outcome: document.Fail, Sentence: "0 of 3 units pass. Fail: b. Undecided: a, c."},
		{Subject: "data quality", Outcome: none, Sentence: "2 of 3 units pass. Not examined: b."},
	}
	for i, got := range s.verdicts() {
		if got != want[i] {
			t.Errorf("got %+v, want %+v", got, want[i])
		}
	}
	sections := summary(s)
	if n := len(sections[1].Blocks); n != 9 {
		t.Errorf("%d verdicts follow, want the three of each unit", n)
	}
	s.Outcome.Verified = s.Outcome.Verified[1:2]
	if got := s.verdicts(); got[1].Sentence != "So it is." || summary(s) != nil {
		t.Errorf("a single unit has its own sentences and no summary: %+v", got)
	}
}

// The least margin is shown, of a limit that some unit breaks as of one that all keep; an unknown one comes first.
func TestClosest(t *testing.T) {
	limit := func(quantity, limit, margin string) record.Limit {
		return record.Limit{Quantity: quantity, Rule: "at least", Limit: record.Number(limit), Margin: record.Number(margin), Outcome: "x"}
	}
	got := closest([]record.Unit{
		{Unit: "a", Limits: []record.Limit{limit("isolation", "30", "0.50"), limit("isolation", "22", "2.00"), limit("pdl", "1", "0.10")}},
		{Unit: "b", Limits: []record.Limit{limit("isolation", "30", "-1.02"), limit("isolation", "22", "10.00"), limit("pdl", "1", "")}},
		{Unit: "c", Limits: []record.Limit{limit("isolation", "30", "-0.50"), limit("pdl", "1", "-3.00")}},
	})
	var rows []string
	for _, r := range got.Rows {
		rows = append(rows, strings.Join([]string{r[0], r[2], r[3], r[6]}, " "))
	}
	if got, want := strings.Join(rows, "; "), "isolation ≥ 30 b −1.02; isolation ≥ 22 a +2.00; PDL ≥ 1 b "; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}
