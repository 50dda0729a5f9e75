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
	s := Source{Record: &record.Record{}, Outcome: &rerun.Outcome{}}
	add := func(name string, agreement, conformity, quality document.Outcome) {
		v := func(o document.Outcome) verify.Verdict { return verify.Verdict{Outcome: o, Sentence: "so it is"} }
		s.Outcome.Verified = append(s.Outcome.Verified, rerun.Verification{Result: &verify.Result{Unit: name, Agreement: v(agreement), Conformity: v(conformity), Quality: v(quality)}})
		s.Record.Units = append(s.Record.Units, record.Unit{Unit: name})
	}
	const none = document.Outcome(0)
	add("a", document.Pass, document.Undecided, document.Pass)
	add("b", document.Pass, document.Fail, none)
	add("c", document.Pass, document.Undecided, document.Pass)
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
	// Who does not pass leaps to the eye, and has its page like the others.
	table := summary(s).Blocks[0].(document.Table)
	if got, want := strings.Join(table.Rows[1], " "), "2 b pass – FAIL NOT EXAMINED"; got != want {
		t.Errorf("the row of unit b is %q, want %q", got, want)
	}
	var titles []string
	for _, p := range pages(s) {
		titles = append(titles, p.Title)
	}
	if got := strings.Join(titles, ", "); !strings.Contains(got, "Unit a, ") || !strings.Contains(got, "Unit b, ") || !strings.Contains(got, "Unit c") {
		t.Errorf("pages of %s", got)
	}
	s.Outcome.Verified, s.Record.Units = s.Outcome.Verified[1:2], s.Record.Units[1:2]
	if got := s.verdicts(); got[1].Sentence != "So it is." {
		t.Errorf("a single unit has its own sentences: %+v", got)
	}
}

// Of few units the table stands before the signatures, of many after: what is signed stays on the first page.
func TestSignaturesOnTheFirstPage(t *testing.T) {
	for _, n := range []int{firstPage, firstPage + 1} {
		s := Source{Record: &record.Record{Units: make([]record.Unit, n)}, Outcome: &rerun.Outcome{}}
		for range n {
			s.Outcome.Verified = append(s.Outcome.Verified, rerun.Verification{Result: &verify.Result{Unit: "a"}})
		}
		b := summary(s).Blocks
		if _, last := b[len(b)-1].(document.Signatures); last != (n <= firstPage) {
			t.Errorf("%d units: signatures last: %t", n, last)
		}
	}
}

// The least margin is shown, of a limit that some unit breaks as of one that all keep; an unknown one comes first.
func TestClosest(t *testing.T) {
	limit := func(quantity, limit, margin string) record.Limit {
		return record.Limit{Quantity: quantity, Rule: "at least", Limit: record.Number(limit), Margin: record.Number(margin), Outcome: "x"}
	}
	of := func(name string, limits ...record.Limit) unit {
		return unit{record.Unit{Unit: name, Limits: limits}, &verify.Result{}}
	}
	units := []unit{
		of("a", limit("isolation", "30", "0.50"), limit("isolation", "22", "2.00"), limit("pdl", "1", "0.10")),
		of("b", limit("isolation", "30", "-1.02"), limit("isolation", "22", "10.00"), limit("pdl", "1", "")),
		of("c", limit("isolation", "30", "-0.50"), limit("pdl", "1", "-3.00")),
	}
	got := closest(units)
	var rows []string
	for _, r := range got.Rows {
		rows = append(rows, strings.Join([]string{r[1], r[3], r[4], r[7]}, " "))
	}
	if got, want := strings.Join(rows, "; "), "isolation ≥ 30 b −1.02; isolation ≥ 22 a +2.00; PDL ≥ 1 b "; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	rows = nil
	for _, u := range units {
		rows = append(rows, strings.Join(margins(u, limitsOf(units)), " "))
	}
	if got, want := strings.Join(rows, "; "), "+0.50 +2.00 +0.10; −1.02 +10.00 –; −0.50 – −3.00"; got != want {
		t.Errorf("margins: got  %s\nwant %s", got, want)
	}
}
