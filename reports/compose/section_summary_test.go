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
		v := func(subject string, o document.Outcome) record.Verdict {
			return record.Verdict{Subject: subject, Outcome: o.String(), Sentence: "so it is"}
		}
		s.Outcome.Verified = append(s.Outcome.Verified, rerun.Verification{Result: &verify.Result{Unit: name}})
		s.Record.Units = append(s.Record.Units, record.Unit{Unit: name, Verdicts: []record.Verdict{v("model agreement",
			agreement),
			v("limit conformity", conformity), v("data quality", quality)}})
	}
	const none = document.Outcome(0)
	add("a", document.Pass, document.Undecided, document.Pass)
	add("b", document.Pass, document.Fail, none)
	add("c", document.Pass, document.Undecided, document.Pass)
	want := []document.Verdict{
		{Subject: "Model agreement", Outcome: document.Pass, Sentence: "All 3 units pass."},
		{Subject: "Limit conformity", Outcome: document.Fail,
			Sentence: "None of 3 units passes. Fail: b. Undecided: a, c."},
		{Subject: "Data quality", Outcome: none, Sentence: "2 of 3 units pass. Not checked: b."},
	}
	for i, got := range s.verdicts() {
		if got != want[i] {
			t.Errorf("got %+v, want %+v", got, want[i])
		}
	}
	// Who does not pass leaps to the eye, and has its page like the others.
	table := summary(s).Blocks[0].(document.Table)
	if got, want := strings.Join(table.Rows[1], " "), "2 b pass – FAIL NOT CHECKED"; got != want {
		t.Errorf("the row of unit b is %q, want %q", got, want)
	}
	var titles []string
	for _, p := range pages(s) {
		titles = append(titles, p.Title)
	}
	if got := strings.Join(titles, ", "); !strings.Contains(got, "Unit a, ") || !strings.Contains(got, "Unit b, ") ||
		!strings.Contains(got, "Unit c") {
		t.Errorf("pages of %s", got)
	}
	// only one that fails is followed by its details: what an undecided one lacks is said by its limits
	if got := strings.Count(strings.Join(titles, ", "), "details"); got != 1 || !strings.Contains(strings.Join(titles,
		", "), "Unit b: details") {
		t.Errorf("details in %q, want those of unit b", titles)
	}
	s.Outcome.Verified, s.Record.Units = s.Outcome.Verified[1:2], s.Record.Units[1:2]
	if got := s.verdicts(); got[1].Sentence != "So it is." {
		t.Errorf("a single unit has its own sentences: %+v", got)
	}
}

// The least margin is shown, of a limit that some unit breaks as of one that all keep; an unknown one comes first.
func TestClosest(t *testing.T) {
	limit := func(quantity, limit, margin string) record.Limit {
		return record.Limit{Quantity: quantity, Unit: "dB", Rule: "at least", Limit: record.Number(limit),
			Margin: record.Number(margin), Outcome: "x"}
	}
	of := func(name string, limits ...record.Limit) unit {
		return unit{record.Unit{Unit: name, Limits: limits}, &verify.Result{}}
	}
	units := []unit{
		of("a", limit("isolation", "30", "0.50"), limit("isolation", "22", "2.00"), limit("pdl", "1", "0.10")),
		of("b", limit("isolation", "30", "-1.02"), limit("isolation", "22", "10.00"), limit("pdl", "1", "")),
		of("c", limit("isolation", "30", "-0.50"), limit("pdl", "1", "-3.00")),
	}
	got, _ := closest(units)
	var rows []string
	for _, r := range got.Rows {
		rows = append(rows, strings.Join([]string{r[1], r[3], r[4], r[7]}, " "))
	}
	if got, want := strings.Join(rows, "; "),
		"isolation (dB) ≥ 30 b −1.02; isolation (dB) ≥ 22 a +2.00; PDL (dB) ≥ 1 b "; got != want {
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

// TestRetests: a test that a later one stands for does not make its lot fail; page one states the rule and what that
// test showed, and units stand in the order of their lot.
func TestRetests(t *testing.T) {
	verdict := func(outcomes ...string) []record.Verdict {
		var all []record.Verdict
		for i, subject := range []string{"model agreement", "limit conformity", "data quality"} {
			all = append(all, record.Verdict{Subject: subject, Outcome: outcomes[i], Sentence: "so it is"})
		}
		return all
	}
	r := &record.Record{
		Units: []record.Unit{
			{Unit: "10", Lot: "a", Verdicts: verdict("pass", "pass", "pass"),
				Unused: []string{"the column \"ripple\", which is not known", "81 readings of DGD, for want of u"}},
			{Unit: "8", Lot: "a", Input: "8.csv", Measured: "2026-11-18", Later: "8-again.csv",
				Verdicts: verdict("pass", "fail", "pass")},
			{Unit: "8", Lot: "a", Input: "8-again.csv", Measured: "2026-11-20", Verdicts: verdict("pass", "pass",
				"pass"),
				Unused:    []string{"the column \"ripple\", which is not known"},
				Diagnosis: record.Diagnosis{Outliers: []record.Outlier{{Line: 17}, {Line: 18}}}},
		},
		Lots: []record.Lot{{Lot: "a", Order: "in order of the time measured",
			Sentence: "all 2 units pass all three verdicts",
			Units:    []record.LotUnit{{Unit: "8"}, {Unit: "10"}}, Unstable: []string{"least isolation, 23 °C"}}},
		Retests: &record.Retests{Rule: "latest",
			Sentence: "measured more than once: 8; rule for retests: latest, only the latest test of a unit counts"},
	}
	if !r.Passes() {
		t.Error("the record does not pass: an earlier test counts")
	}
	o := &rerun.Outcome{}
	for range r.Units {
		o.Verified = append(o.Verified, rerun.Verification{Result: &verify.Result{}})
	}
	s := Source{Record: r, Outcome: o}
	if v := s.verdicts(); v[1].Outcome != document.Pass || v[1].Sentence != "All 2 units pass." {
		t.Errorf("limit conformity: got %+v", v[1])
	}
	text := (document.Document{Sections: []document.Section{summary(s)}}).Text()
	for _, want := range []string{"Rule for retests: latest",
		"Not counted: unit 8, test of 2026-11-18 (8.csv): model agreement pass, limit conformity fail",
		"Lot a, in order of the time measured. All 2 units pass all three verdicts. These figures: least isolation, " +
			"23 °C.",
		"Outliers: unit 8, 2 readings excluded from the fit and the key figures, not from the limits (lines 17, 18).",
		"Not used: the column \"ripple\", which is not known (all units); 81 readings of DGD, for want of u (unit " +
			"10)."} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
			t.Errorf("page one lacks %q:\n%s", want, text)
		}
	}
	if u := s.units(); len(u) != 2 || u[0].Unit.Unit != "8" || u[0].Input != "8-again.csv" {
		t.Errorf("the units of the report are %+v", u)
	}
	if later := notCounted(s); len(later) != 1 || later[0].Title != "Earlier test of unit 8, 2026-11-18" {
		t.Errorf("the earlier test is not in the report: %+v", later)
	}
}

// TestNotUsedOnPageOne: of one unit the first page says all that its file holds and nothing is compared with.
func TestNotUsedOnPageOne(t *testing.T) {
	u := unit{Unit: record.Unit{Limits: []record.Limit{{Quantity: "isolation", Unit: "dB"}},
		Unused: []string{"the column \"ripple\", which is not known", "the comment \"1550 23\" (line 4)"}}}
	s := Source{Record: &record.Record{}, Outcome: &rerun.Outcome{}}
	text := (document.Document{Sections: []document.Section{{Title: "Result", Blocks: results(s, u, 1)}}}).Text()
	const want = "Not used: the column \"ripple\", which is not known; the comment \"1550 23\" (line 4)."
	if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
		t.Errorf("page one lacks %q:\n%s", want, text)
	}
}
