package changes

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/record"
)

func TestOf(t *testing.T) {
	for _, c := range []struct {
		name, was, is string
		want          []Change
	}{
		{"nothing", `{"a":1.0,"b":[{"name":"x"}]}`, `{"b":[{"name":"x"}],"a":1.0}`, nil},
		{"digits are kept", `{"a":1.0}`, `{"a":1.00}`, []Change{{[]string{"a"}, "1.0", "1.00"}}},
		{"a field more", `{}`, `{"a":true}`, []Change{{[]string{"a"}, "", "yes"}}},
		{"a field less", `{"a":null,"b":"x"}`, `{}`, []Change{{[]string{"b"}, "x", ""}}},
		{"elements by name", `{"l":[{"name":"a","v":1},{"name":"b","v":2}]}`,
			`{"l":[{"name":"b","v":3},{"name":"a","v":1}]}`, []Change{{[]string{"l", "b", "v"}, "2", "3"}}},
		{"an element in front", `{"l":[{"name":"b","v":2}]}`, `{"l":[{"name":"a","v":1},{"name":"b","v":2}]}`,
			[]Change{{[]string{"l", "a"}, "", "name a, v 1"}}},
		{"the first list", `{}`, `{"l":[{"name":"a"}]}`, []Change{{[]string{"l", "a"}, "", "name a"}}},
		{"the last list", `{"l":[{"name":"a"}]}`, `{}`, []Change{{[]string{"l", "a"}, "name a", ""}}},
		{"two of one name", `{"l":[{"name":"a","v":1},{"name":"a","v":2}]}`,
			`{"l":[{"name":"a","v":1},{"name":"a","v":3}]}`, []Change{{[]string{"l", "a (2)", "v"}, "2", "3"}}},
		{"without names", `{"l":[[1],[2]]}`, `{"l":[[1],[3]]}`, []Change{{[]string{"l", "2", "1"}, "2", "3"}}},
		{"texts", `{"l":["x","y"]}`, `{"l":["y","z"]}`, []Change{{[]string{"l", "x"}, "x", ""}, {[]string{"l", "z"}, "",
			"z"}}},
		{"a limit by its range", `{"l":[{"quantity":"isolation","rule":"at least","over":"23 °C","limit":30}]}`,
			`{"l":[{"quantity":"isolation","rule":"at least","over":"23 °C","limit":32}]}`,
			[]Change{{[]string{"l", "isolation, at least, 23 °C", "limit"}, "30", "32"}}},
		{"another kind", `{"a":{"b":1}}`, `{"a":2}`, []Change{{[]string{"a"}, "b 1", "2"}}},
	} {
		got, err := Of([]byte(c.was), []byte(c.is))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(got, c.want); diff != "" {
			t.Errorf("%s: -got +want:\n%s", c.name, diff)
		}
	}
	if _, err := Of([]byte("{"), []byte("{}")); err == nil {
		t.Error("half a text gives no error")
	}
}

// revision is a record with a unit, changed as asked.
func revision(t *testing.T, change func(*record.Record)) Revision {
	t.Helper()
	r := &record.Record{
		Program: record.Program{Name: "wedgework", Version: "1"}, Header: record.Header{Title: "Core", Revision: "A"},
		Inputs:    []record.Input{{Name: "sweep", File: record.Source{Name: "0417.csv", SHA256: "a"}}},
		Settings:  []record.Setting{{Name: "apex", Value: "5 deg"}},
		Constants: []record.Source{{Name: "YVO4", SHA256: "b"}},
		Executed:  record.Source{SHA256: "c"},
		Units: []record.Unit{{
			Unit: "0417", Verdicts: []record.Verdict{{Subject: "limit conformity", Outcome: "pass", Sentence: "kept"}},
			Limits: []record.Limit{{Quantity: "isolation", Rule: "at least", Over: "23 °C", Limit: "30.00",
				Measured: "34.10", Margin: "4.10", Outcome: "pass"}},
			Diagnosis: record.Diagnosis{Sentence: "nothing", Fitted: []record.Fitted{{Name: "rotator1.angle",
				Unit: "deg", Value: "45.02"}}},
		}},
	}
	if change != nil {
		change(r)
	}
	data, err := r.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return Revision{Name: "r.json", SHA256: "x", Record: r, JSON: data}
}

func compare(t *testing.T, change func(*record.Record)) *Comparison {
	t.Helper()
	c, err := Compare(revision(t, nil), revision(t, change))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Every kind of change lands in its group.
func TestGroups(t *testing.T) {
	for _, c := range []struct {
		group  string
		change func(*record.Record)
	}{
		{"Verdicts", func(r *record.Record) { r.Units[0].Verdicts[0].Outcome = "fail" }},
		{"Limits", func(r *record.Record) { r.Units[0].Limits[0].Limit = "32.00" }},
		{"Limits", func(r *record.Record) { r.Units[0].Limits[0].Over = "70 °C" }},
		{"Margins", func(r *record.Record) { r.Units[0].Limits[0].Margin = "4.00" }},
		{"Fitted parameters", func(r *record.Record) { r.Units[0].Diagnosis.Fitted[0].Value = "44.40" }},
		{"Diagnosis", func(r *record.Record) { r.Units[0].Diagnosis.Sentence = "something" }},
		{"Diagnosis", func(r *record.Record) {
			r.Units[0].Diagnosis.Correction = &record.Correction{Part: "wedge2", Turn: "0.597"}
		}},
		{"Diagnosis", func(r *record.Record) { r.Units[0].Diagnosis.Outliers = []record.Outlier{{Line: 17}} }},
		{"Data quality", func(r *record.Record) {
			r.Units[0].Checks = []record.Check{{Name: "outliers",
				Outcome: "pass"}}
		}},
		{"Leak", func(r *record.Record) { r.Units[0].Leaks = []record.Leak{{Name: "decides limit 1"}} }},
		{"Explanations tried", func(r *record.Record) { r.Units[0].Diagnosis.Explanations = []record.Explanation{{Label: "none"}} }},
		{"Inputs", func(r *record.Record) { r.Inputs[0].File.SHA256 = "d" }},
		{"Settings", func(r *record.Record) { r.Settings[0].Value = "4 deg" }},
		{"Constants", func(r *record.Record) { r.Constants[0].SHA256 = "d" }},
		{"Notebook", func(r *record.Record) { r.Notebook.SHA256 = "d" }},
		{"Identification", func(r *record.Record) { r.Header.Revision = "B" }},
		{"Program", func(r *record.Record) { r.Program.Version = "2" }},
		{"Other", func(r *record.Record) { r.Units[0].Notes = []string{"a choice"} }},
		{"", func(r *record.Record) { r.Executed.SHA256 = "d" }}, // follows from the rest
		{"", nil},
	} {
		got := compare(t, c.change)
		var titles []string
		for _, g := range got.Groups {
			titles = append(titles, g.Title)
		}
		if strings.Join(slices.Compact(titles), ", ") != c.group || got.Same() != (c.group == "") {
			t.Errorf("groups %q, want %q", titles, c.group)
		}
	}
}

// The unit that takes another's place is compared with it.
func TestAnotherUnit(t *testing.T) {
	c := compare(t, func(r *record.Record) { r.Units[0].Unit, r.Units[0].Limits[0].Margin = "0418", "0.10" })
	if len(c.Groups) != 1 || c.Groups[0].Title != "Margins" {
		t.Fatalf("groups %+v, want the margin alone", c.Groups)
	}
	text := c.Document().Text()
	for _, want := range []string{"Unit, old  0417", "Unit, new  0418",
		"isolation, at least, 23 °C, margin  4.10  0.10       −4.00"} {
		if !strings.Contains(text, want) {
			t.Errorf("the text lacks %q:\n%s", want, text)
		}
	}
}

// Of several units the three judgements stand once each, with the units whose outcome is another now.
func TestVerdictsTogether(t *testing.T) {
	more := func(outcome string) func(r *record.Record) {
		return func(r *record.Record) {
			r.Units = append(r.Units, record.Unit{Unit: "0418", Verdicts: []record.Verdict{{Subject: "limit conformity",
				Outcome: outcome, Sentence: "so"}}})
		}
	}
	for _, c := range []struct{ was, is, outcome, want string }{
		{"pass", "pass", "pass", "all 2 units pass; every unit as before"},
		{"pass", "fail", "fail", "1 of 2 units passes; 0418: fail, was pass"},
		{"fail", "undecided", "undecided", "1 of 2 units passes; 0418: undecided, was fail"},
	} {
		both, err := Compare(revision(t, more(c.was)), revision(t, more(c.is)))
		if err != nil {
			t.Fatal(err)
		}
		got := both.Document().Verdicts
		if len(got) != 1 || got[0].Outcome.String() != c.outcome || got[0].Sentence != c.want {
			t.Errorf("%s to %s: %+v, want %s: %s", c.was, c.is, got, c.outcome, c.want)
		}
	}
}

// What changes alike of every unit is said once.
func TestMerged(t *testing.T) {
	both := func(value, margin record.Number) func(r *record.Record) {
		return func(r *record.Record) {
			r.Units = append(r.Units, r.Units[0])
			r.Units[1].Unit = "0418"
			for i := range r.Units {
				r.Units[i].Model = []record.Figure{{Name: "wedge1.apex", Value: value, Unit: "deg"}}
			}
			r.Units[1].Limits = slices.Clone(r.Units[1].Limits)
			r.Units[1].Limits[0].Margin = margin
		}
	}
	c, err := Compare(revision(t, both("5", "4.10")), revision(t, both("4.5", "3.10")))
	if err != nil {
		t.Fatal(err)
	}
	text := c.Document().Text()
	for want, times := range map[string]int{"every unit, wedge1.apex, value": 1, "unit 0417, wedge1.apex": 0,
		"unit 0418, wedge1.apex": 0, "unit 0418, isolation": 1, "every unit, isolation": 0} {
		if got := strings.Count(text, want); got != times {
			t.Errorf("%q stands %d times, want %d:\n%s", want, got, times, text)
		}
	}
}

func TestDifference(t *testing.T) {
	for _, c := range []struct{ was, is, want string }{
		{"4.10", "0.10", "-4.00"}, {"4.1", "4.25", "+0.15"}, {"1", "1", "0"}, {"-0.5", "0.5", "+1.0"},
		{"", "1", ""}, {"5 deg", "4 deg", ""}, {"pass", "fail", ""},
	} {
		if got := (Change{Was: c.was, Is: c.is}).Difference(); got != c.want {
			t.Errorf("%q to %q: %q, want %q", c.was, c.is, got, c.want)
		}
	}
}

func TestBytes(t *testing.T) {
	data, err := compare(t, func(r *record.Record) { r.Settings[0].Value = "4 deg" }).Bytes()
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Schema string
		Same   bool
		Groups []Group
	}
	if err := json.Unmarshal(data, &got); err != nil {
		t.Fatal(err)
	}
	want := []Group{{"Settings", []Change{{[]string{"settings", "apex", "value"}, "5 deg", "4 deg"}}}}
	if diff := cmp.Diff(got.Groups, want); diff != "" || got.Same || got.Schema != "wedgework changes" {
		t.Errorf("%s, same %t, -got +want:\n%s", got.Schema, got.Same, diff)
	}
}

// The document has one heading of a name, and none of those of the report's own parts, such as the verdicts before it.
func TestHeadingsOnce(t *testing.T) {
	d := compare(t, func(r *record.Record) {
		u := &r.Units[0]
		u.Verdicts[0].Outcome, u.Limits[0].Margin = "fail", "4.00"
		u.Leaks, u.Diagnosis.Explanations = []record.Leak{{Name: "decides limit 1"}}, []record.Explanation{{Label: "none"}}
	}).Document()
	if len(d.Verdicts) == 0 {
		t.Fatal("the document has no verdicts in front")
	}
	var titles []string
	for _, s := range d.Sections {
		titles = append(titles, s.Title)
	}
	want := []string{"In short", "Changed verdicts", "Margins", "Leakage", "Candidate explanations"}
	if diff := cmp.Diff(titles, want); diff != "" {
		t.Errorf("headings (-got +want):\n%s", diff)
	}
}
