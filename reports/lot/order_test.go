package lot

import (
	"fmt"
	"slices"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/verify"
)

func TestNatural(t *testing.T) {
	want := []string{"8", "9", "10", "011", "100", "A2", "A10", "A10b", "B1", "U-2-10", "U-10-2"}
	got := slices.Clone(want)
	slices.Sort(got)
	slices.SortFunc(got, Natural)
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	// A total order: digits of any length, leading zeros and all.
	for _, a := range want {
		for _, b := range want {
			if ab, ba := Natural(a, b), Natural(b, a); ab != -ba || (ab == 0) != (a == b) {
				t.Errorf("%q and %q: %d one way, %d the other", a, b, ab, ba)
			}
		}
	}
}

// stated is a unit with what its file states of it.
func stated(unit string, value float64, meta ...string) *verify.Result {
	r := result("a", unit, value, 0, false)
	r.SHA256 = fmt.Sprint(unit, meta)
	for i := 0; i+1 < len(meta); i += 2 {
		r.Meta = append(r.Meta, [2]string{meta[i], meta[i+1]})
	}
	return r
}

// TestOrder: a plan hands units over by the names of their files, 10, 11, 8, 9; a drift of 0.1 dB a unit is then a
// drift the other way. Units stand by the time measured, else by a stated sequence, else by number.
func TestOrder(t *testing.T) {
	for _, c := range []struct {
		name  string
		units []*verify.Result
		want  string
		order Order
		slope float64
	}{
		{"by number", []*verify.Result{stated("10", 33.2), stated("11", 33.3), stated("8", 33), stated("9", 33.1)},
			"8 9 10 11", ByName, 0.1},
		{"by day", []*verify.Result{stated("10", 33, "measured", "2026-11-18"), stated("8", 33.2, "Measured",
			"2026-11-20"),
			stated("9", 33.1, "measured", "2026-11-19 08:15")}, "10 9 8", ByTime, 0.1},
		{"one day", []*verify.Result{stated("10", 33.1, "measured", "2026-11-18"), stated("8", 33, "measured",
			"2026-11-18"),
			stated("11", 33.2, "measured", "2026-11-18")}, "8 10 11", ByName, 0.1},
		{"by sequence", []*verify.Result{stated("10", 33.2, "sequence", "3"), stated("8", 33.1, "sequence", "2"),
			stated("11", 33, "sequence", "1")}, "11 8 10", BySequence, 0.1},
		{"within a day by sequence", []*verify.Result{stated("1", 33.2, "measured", "2026-11-19", "sequence", "3"),
			stated("2", 33.1, "measured", "2026-11-19", "sequence", "2"), stated("3", 33, "measured", "2026-11-18",
				"sequence", "9")},
			"3 2 1", ByTime, 0.1},
		{"one without a time", []*verify.Result{stated("2", 33.1, "measured", "2026-11-18"), stated("1", 33, "measured",
			"soon"),
			stated("3", 33.2, "measured", "2026-11-17")}, "1 2 3", ByName, 0.1},
	} {
		s := Studies(c.units, How{Coverage: Usual})[0]
		names := ""
		for i, u := range s.Units {
			if i > 0 {
				names += " "
			}
			names += u.Name
		}
		if names != c.want || s.Order != c.order {
			t.Errorf("%s: got %s by %s, want %s by %s", c.name, names, s.Order, c.want, c.order)
		}
		near(t, c.name, s.Characteristics[0].Trend.Slope, c.slope, 1e-9)
	}
	given := Studies([]*verify.Result{stated("10", 33.2), stated("11", 33.3), stated("8", 33)},
		How{Coverage: Usual, Given: true})[0]
	if given.Units[0].Name != "10" || given.Order != AsGiven {
		t.Errorf("got %+v by %s, want the order given", given.Units, given.Order)
	}
}

// unitTest is one test of a unit: a run at 23 degC.
func unitTest(unit, day string, isolation float64) *verify.Result {
	r := stated(unit, isolation, "measured", day)
	r.File = unit + " of " + day
	r.Runs = []verify.Sweep{{Temperature: quantity.Celsius(23), Low: 1.53e-6, High: 1.57e-6,
		Count: map[limits.Quantity]int{limits.Isolation: 3}}}
	return r
}

// TestRetest: a unit that failed and was measured again counts by its latest test, wherever that stands in the list;
// with "all" by every one. No figure is an average of tests.
func TestRetest(t *testing.T) {
	all := []*verify.Result{unitTest("1", "2026-11-18", 33), unitTest("2", "2026-11-20", 34),
		unitTest("2", "2026-11-18", 28), unitTest("3", "2026-11-18", 35)}
	tests := Judge(all, "")
	for i, want := range []bool{true, true, false, true} {
		if tests.Counts(i) != want {
			t.Errorf("result %d counts: %t, want %t", i, tests.Counts(i), want)
		}
	}
	if got, want := tests.Words(all), "measured more than once: 2; rule for retests: latest, only the latest test of "+
		"a unit counts"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	s := Studies(all, How{Coverage: Usual})[0]
	if c := s.Counts[1]; len(s.Units) != 3 || c.Fail != 0 {
		t.Errorf("by the latest: %d units, %d fail, want 3 and none", len(s.Units), c.Fail)
	}
	if got := fmt.Sprint(s.Characteristics[0].Values); got != "[33 35 34]" {
		t.Errorf("values %s, want [33 35 34]: those of the latest tests, by time", got)
	}
	s = Studies(all, How{Coverage: Usual, Retest: All})[0]
	if c := s.Counts[1]; len(s.Units) != 4 || c.Fail != 1 || !s.Retested || s.Characteristics[0].Interval.K != 0 {
		t.Errorf("with all: %+v, want four tests, one that fails, and no tolerance interval", s)
	}
	// A failed limit that the later test does not repeat stays, and so does a test at another temperature.
	later := unitTest("2", "2026-11-20", 34)
	later.Decisions = nil
	if !Judge([]*verify.Result{all[2], later}, Latest).Counts(0) {
		t.Error("a test without the limit stands for one that failed it")
	}
	hot := unitTest("2", "2026-11-20", 34)
	hot.Runs[0].Temperature = quantity.Celsius(70)
	if !Judge([]*verify.Result{all[2], hot}, Latest).Counts(0) {
		t.Error("a test at 70 degC stands for one at 23 degC")
	}
	// Without times that differ nobody knows which is later: both count, and the report says so.
	same := []*verify.Result{unitTest("2", "2026-11-18", 28), unitTest("2", "2026-11-18", 34)}
	same[1].SHA256 = "other"
	tests = Judge(same, Latest)
	if !tests.Counts(0) || !tests.Counts(1) || len(tests.Undated) != 1 {
		t.Errorf("two tests of one day: got %+v, want both to count and the unit named", tests)
	}
}

// TestSentence: what a signer must know of a lot stands in its sentence.
func TestSentence(t *testing.T) {
	var all []*verify.Result
	for i := range 12 {
		all = append(all, stated(fmt.Sprint(i+1), 33+0.1*float64(i)))
	}
	all[3].Diagnosis.Causes = []string{"rotator1.extinction"}
	s := Studies(all, How{Coverage: Usual})[0]
	want := "all 12 units pass all three verdicts; not stable from unit to unit: 1 of 1 figures, for which no " +
		"tolerance interval is given; outside tolerance in the fitted model: 4 (rotator1.extinction)"
	if got := s.Sentence(); got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	if s.Characteristics[0].Keeps == document.Pass {
		t.Error("a process that moves is said to meet the limit")
	}
}
