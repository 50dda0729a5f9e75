package index

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"wedgework/reports/document"
	"wedgework/reports/files"
	"wedgework/reports/index/table"
	"wedgework/reports/pdf"
	"wedgework/reports/record"
)

// unit is a record of one unit, its margin and its fitted angle being given.
func unit(name, lot, day string, margin, angle float64) *record.Record {
	outcome := "pass"
	if margin < 0 {
		outcome = "fail"
	}
	return &record.Record{
		Program: record.Program{Name: "wedgework", Version: "1"}, Number: "WR-" + name,
		Header: record.Header{Title: "Isolator <b>" + name, Part: "HA-1550"},
		Inputs: []record.Input{{Name: "sweep", File: record.Source{Name: name + ".csv"}, Meta: []record.Field{
			{Name: "operator", Value: "O"}, {Name: "Bench", Value: "bench 2"}}}},
		Units: []record.Unit{{Unit: name, Lot: lot, Input: name + ".csv", Measured: day,
			Verdicts: []record.Verdict{{Subject: "model agreement", Outcome: "pass"},
				{Subject: "limit conformity", Outcome: outcome}, {Subject: "data quality", Outcome: "pass"}},
			Limits: []record.Limit{{Quantity: "minimum isolation", Rule: "at least", Limit: "30.00", Unit: "dB",
				Over: "1535 nm to 1565 nm", Measured: record.Decimal(30+margin, 2), Margin: record.Decimal(margin, 2),
				Uncertainty: "0.10", Outcome: outcome}},
			Diagnosis: record.Diagnosis{Causes: []string{"rotator1.angle"},
				Fitted: []record.Fitted{{Name: "rotator1.angle",
					Unit: "deg", Specified: "45", Tolerance: "1.000", Value: record.Decimal(angle, 3),
					Departure: record.Decimal(angle-45, 3), Uncertainty: "0.020", Within: "pass"}}}}},
	}
}

// place puts a record beside where its PDF stands, and the PDF, which carries it, where that is asked for.
func place(t testing.TB, folder, name string, r *record.Record, pages bool) {
	t.Helper()
	data, err := r.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	at := filepath.Join(folder, name)
	if err := os.MkdirAll(filepath.Dir(at), 0o777); err != nil {
		t.Fatal(err)
	}
	put(t, at+".json", data)
	if !pages {
		return
	}
	page, _, err := pdf.Render(document.Document{Title: name}, pdf.Options{Attachments: []pdf.Attachment{{
		Name: record.FileName, Description: "the record", MIME: "application/json", Relation: "Source", Data: data}}})
	if err != nil {
		t.Fatal(err)
	}
	put(t, at+".pdf", page)
}

func put(t testing.TB, path string, data []byte) {
	t.Helper()
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
}

func built(t testing.TB, folder string, o Options) *Index {
	t.Helper()
	o.Program, o.Now = "wedgework 1", time.Date(2026, 11, 30, 21, 0, 0, 0, time.UTC)
	if o.From == "" {
		o.From = Records
	}
	x, err := Build(folder, o)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// TestFromPDFs: what the PDFs alone say is what the records say, to the byte of both tables, and of the page.
func TestFromPDFs(t *testing.T) {
	folder := t.TempDir()
	for i := range 12 {
		place(t, folder, fmt.Sprintf("lot-%d/%d", i%2, i), unit(fmt.Sprint(i), fmt.Sprint("L", i%2), "2026-11-02",
			float64(i)-1, 45+float64(i)/100), true)
	}
	put(t, filepath.Join(folder, "other.json"), []byte(`{"a": 1}`))
	put(t, filepath.Join(folder, "other.txt"), []byte(`text`))
	records, pdfs := built(t, folder, Options{}), built(t, folder, Options{From: PDFs})
	if len(records.Rows) != 12 || len(records.Problems) > 0 || len(pdfs.Problems) > 0 {
		t.Fatalf("%d rows, problems %v and %v", len(records.Rows), records.Problems, pdfs.Problems)
	}
	for what, of := range map[string]func(x *Index) []byte{
		"rows":   func(x *Index) []byte { b, _ := x.tables(); return b },
		"values": func(x *Index) []byte { _, b := x.tables(); return b },
		"page": func(x *Index) []byte {
			b, err := x.Page()
			if err != nil {
				t.Fatal(err)
			}
			return b
		},
	} {
		if !bytes.Equal(of(records), of(pdfs)) {
			t.Errorf("%s: records and PDFs differ", what)
		}
	}
	if s := records.Series; len(s) != 2 || len(s[0].Values) != 12 || len(s[0].Lots) != 2 || s[0].Kind != OfLimit {
		t.Errorf("series %+v", s)
	}
}

// TestStates: failed, stale, orphaned and superseded reports are named, and only current ones count.
func TestStates(t *testing.T) {
	folder := t.TempDir()
	old := unit("1", "L", "2026-11-01", 1, 45)
	place(t, folder, "superseded/WR-1/1", old, false)
	data, err := old.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	place(t, folder, "old", old, false)
	new := unit("1", "L", "2026-11-02", 2, 45)
	new.Number, new.Supersedes = "WR-1-2", &record.Superseded{Number: "WR-1", SHA256: record.Digest(data)}
	place(t, folder, "1", new, false)
	place(t, folder, "2", unit("2", "L", "2026-11-02", 3, 45), false)
	place(t, folder, "3", unit("3", "L", "2026-11-02", 4, 45), false)
	x := built(t, folder, Options{Plan: []Standing{{"1.pdf", Current, ""}, {"2.pdf", Failed, "bad file"},
		{"4.pdf", Failed, "no unit"}}})
	got := map[string]State{}
	for _, r := range x.Rows {
		got[r.Report] = r.State
	}
	for report, want := range map[string]State{"superseded/WR-1/1.pdf": Superseded, "old.pdf": Superseded,
		"1.pdf": Current,
		"2.pdf": Stale, "3.pdf": Orphaned, "4.pdf": Failed} {
		if got[report] != want {
			t.Errorf("%s is %q, want %q", report, got[report], want)
		}
	}
	if len(x.Series[0].Values) != 1 || x.Series[0].Values[0] != 32 {
		t.Errorf("counts %v, want the current report alone", x.Series[0].Values)
	}
	for _, r := range built(t, folder, Options{}).Rows { // without a plan
		if r.State == Orphaned || r.State == Stale {
			t.Errorf("%s is %s without a plan", r.Report, r.State)
		}
	}
}

// TestChanges: the second index says what changed since the first, and a third of the same folder says the same.
func TestChanges(t *testing.T) {
	folder := t.TempDir()
	for _, name := range []string{"1", "2", "3"} {
		place(t, folder, name, unit(name, "L", "2026-11-01", 1, 45), false)
	}
	write := func(plan []Standing) *Index {
		x := built(t, folder, Options{Plan: plan})
		if err := x.Write(folder); err != nil {
			t.Fatal(err)
		}
		return x
	}
	plan := []Standing{{"1.pdf", Current, ""}, {"2.pdf", Current, ""}, {"3.pdf", Current, ""}}
	if x := write(plan); x.Changed != "" {
		t.Errorf("the first index knows changes: %v", x.Changes)
	}
	if !UpToDate(folder, "", plan) || UpToDate(folder, "", plan[:2]) {
		t.Error("an index is up to date for the states that it was made of, and no others")
	}
	place(t, folder, "1", unit("1", "L", "2026-11-01", -1, 45), false)
	place(t, folder, "2", unit("2", "L", "2026-11-01", 1.5, 45), false)
	place(t, folder, "4", unit("4", "L", "2026-11-01", 1, 45), false)
	os.Remove(filepath.Join(folder, "3.json"))
	plan[2] = Standing{"4.pdf", Current, ""}
	want := "[{1.pdf 1 fail, was pass} {2.pdf 2 made again: pass} {3.pdf 3 gone} {4.pdf 4 new: pass}]"
	for range 2 {
		if got := fmt.Sprint(write(plan).Changes); got != want {
			t.Errorf("changes %s, want %s", got, want)
		}
	}
}

// TestCache: a file that was written long ago and not since is not read again, one that was written a moment before it
// was read is; content that changes with size and times kept, within that moment, is seen.
func TestCache(t *testing.T) {
	folder := t.TempDir()
	place(t, folder, "1", unit("1", "L", "2026-11-01", 1, 45), false)
	at := filepath.Join(folder, "1.json")
	info, err := os.Stat(at)
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(at)
	if err != nil {
		t.Fatal(err)
	}
	index := func(now time.Time) string {
		x, err := Build(folder, Options{From: Records, Now: now})
		if err != nil {
			t.Fatal(err)
		}
		if err := x.Write(folder); err != nil {
			t.Fatal(err)
		}
		return x.Rows[0].Number
	}
	index(time.Now())
	put(t, at, bytes.Replace(data, []byte(`"WR-1"`), []byte(`"WR-9"`), 1))
	if err := os.Chtimes(at, info.ModTime(), info.ModTime()); err != nil {
		t.Fatal(err)
	}
	if n := index(time.Now().Add(time.Minute)); n != "WR-9" {
		t.Errorf("number %s: a change within the moment was not seen", n)
	}
	f := files.Fingerprint{Size: 3, Modified: 5e9}
	c := &Cache{Written: 8e9, Files: map[string]cached{"a": {Of: f}}}
	if _, ok := c.same("a", f); !ok {
		t.Error("an old file is read again")
	}
	c.Written = 6e9
	if _, ok := c.same("a", f); ok {
		t.Error("a file written a second before it was read counts as known")
	}
}

// TestHostile: texts of records stay texts in page and tables, and damaged files are problems and no rows.
func TestHostile(t *testing.T) {
	folder := t.TempDir()
	bad := unit(`</script><script>alert(1)</script>`, `=HYPERLINK("http://x")`, "2026-11-02", 1, 45)
	bad.Header.Title = "<img src=x onerror=alert(1)>\u2028"
	place(t, folder, "a&b", bad, false)
	put(t, filepath.Join(folder, "cut.json"),
		[]byte("{\n  \"schema\": \"wedgework record\",\n  \"version\": 1,\n  \"un"))
	put(t, filepath.Join(folder, "cut.pdf"), []byte("%PDF-1.7\n1 0 obj"))
	if err := os.Symlink(filepath.Join(folder, "a&b.json"), filepath.Join(folder, "link.json")); err != nil {
		t.Fatal(err)
	}
	x := built(t, folder, Options{})
	if len(x.Rows) != 1 || len(x.Problems) != 1 || x.Problems[0].Path != "cut.json" {
		t.Errorf("%d rows, problems %v", len(x.Rows), x.Problems)
	}
	page, err := x.Page()
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(page, []byte("<script")); n != 2 || bytes.Contains(page, []byte("<img")) {
		t.Errorf("%d scripts in the page, want the data and ours", n)
	}
	units, _ := x.tables()
	rows, err := csv.NewReader(bytes.NewReader(units)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got := rows[1][slices.Index(rows[0], "lot")]; got != `'=HYPERLINK("http://x")` {
		t.Errorf("lot %q in the table", got)
	}
	if p := built(t, folder, Options{From: PDFs}).Problems; len(p) != 1 || !strings.Contains(p[0].Says,
		"not a report") {
		t.Errorf("problems of PDFs: %v", p)
	}
}

// TestOwnFiles: a page or table that somebody else wrote stays.
func TestOwnFiles(t *testing.T) {
	for _, name := range []string{PageName, table.Units, table.Values} {
		folder := t.TempDir()
		place(t, folder, "1", unit("1", "L", "2026-11-01", 1, 45), false)
		x := built(t, folder, Options{})
		put(t, filepath.Join(folder, name), []byte("mine"))
		err := x.Write(folder)
		data, _ := os.ReadFile(filepath.Join(folder, name))
		entries, _ := os.ReadDir(folder)
		if err == nil || !strings.Contains(err.Error(), name) || string(data) != "mine" || len(entries) != 2 {
			t.Errorf("%s: error %v, holds %q, %d files", name, err, data, len(entries))
		}
	}
}

// TestTables: each number of the tables is that of the record, digit by digit.
func TestTables(t *testing.T) {
	folder := t.TempDir()
	place(t, folder, "1", unit("1", "L", "2026-11-01", -0.25, 45.5), false)
	units, values := built(t, folder, Options{}).tables()
	for _, c := range []struct {
		data         []byte
		line         int
		column, want string
	}{
		{units, 1, "least_margin", "-0.25"}, {units, 1, "verdict", "fail"}, {units, 1, "limit_conformity", "fail"},
		{units, 1, "model_agreement", "pass"}, {units, 1, "bench", "bench 2"}, {units, 1, "report", "1.pdf"},
		{values, 1, "limit", "30.00"}, {values, 1, "value", "29.75"}, {values, 1, "margin", "-0.25"},
		{values, 2, "name", "rotator1.angle"}, {values, 2, "tolerance", "1.000"}, {values, 2, "margin", "0.500"},
	} {
		rows, err := csv.NewReader(bytes.NewReader(c.data)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if got := rows[c.line][slices.Index(rows[0], c.column)]; got != c.want {
			t.Errorf("%s is %q, want %q", c.column, got, c.want)
		}
	}
}

// many is a history of n units in lots of 100: a step of the fitted angle by 0.4 degrees after two thirds.
func many(n int) []Row {
	r := rand.New(rand.NewPCG(1, 2))
	var rows []Row
	for i := range n {
		angle := 45 + 0.1*r.NormFloat64()
		if i >= 2*n/3 {
			angle += 0.4
		}
		day := time.Date(2025, 1, 2, 0, 0, 0, 0, time.UTC).Add(time.Duration(i) * 50 * time.Minute)
		one := unit(fmt.Sprintf("%05d", i), fmt.Sprintf("25-%03d", i/100), day.Format("2006-01-02T15:04"),
			2+0.8*r.NormFloat64(), angle)
		one.Inputs[0].Meta[1].Value = fmt.Sprint("bench ", 1+i%3)
		rows = append(rows, Rows(fmt.Sprintf("%d/%05d.pdf", i/100, i), "d"+fmt.Sprint(i), one)...)
	}
	return rows
}

// TestHistory: the one step of the angle is found at its unit, and the capability of the margin is that of its values.
func TestHistory(t *testing.T) {
	s := Histories(many(600))
	if len(s) != 2 || len(s[1].Lots) != 6 {
		t.Fatalf("%d series", len(s))
	}
	if steps := s[1].All.Steps; len(steps) != 1 || steps[0].At < 398 || steps[0].At > 402 || s[1].All.Stable() {
		t.Errorf("steps %+v, want one at 400", steps)
	}
	able := s[0].All.Able
	if want := (s[0].All.Mean - 30) / (3 * s[0].All.Deviation); able == nil || able.Cpk < want-1e-9 ||
		able.Cpk > want+1e-9 ||
		!(able.Least < able.Cpk) {
		t.Errorf("capability %+v, want %g", able, want)
	}
}

// TestTableIs: a table of an index is told from a file of readings with its name.
func TestTableIs(t *testing.T) {
	folder := t.TempDir()
	place(t, folder, "1", unit("1", "L", "2026-11-01", 1, 45), false)
	if err := built(t, folder, Options{}).Write(folder); err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(t.TempDir(), table.Units)
	put(t, other, []byte("wavelength [nm],isolation [dB]\n1550,30\n"))
	for path, want := range map[string]bool{filepath.Join(folder, table.Units): true,
		filepath.Join(folder, table.Values): true, filepath.Join(folder, "1.json"): false, other: false,
		filepath.Join(folder, "absent", table.Units): false} {
		if got := table.Is(path); got != want {
			t.Errorf("%s: %t, want %t", path, got, want)
		}
	}
}

// TestSeveralPlans: an index that the run of one plan writes keeps what the run of another one knew, until that runs
// again or is gone.
func TestSeveralPlans(t *testing.T) {
	folder := t.TempDir()
	for _, name := range []string{"a1", "a2", "a3", "b1"} {
		place(t, folder, name, unit(name, "L", "2026-11-01", 1, 45), false)
	}
	for _, plan := range []string{"a.toml", "b.toml"} {
		put(t, filepath.Join(folder, plan), []byte("plan"))
	}
	by := func(letter string) func(string) bool {
		return func(report string) bool { return strings.HasPrefix(report, letter) }
	}
	run := func(letter string, plan ...Standing) map[string]State {
		t.Helper()
		x := built(t, folder, Options{Plan: plan, Name: letter + ".toml", Made: by(letter)})
		if err := x.Write(folder); err != nil {
			t.Fatal(err)
		}
		if !UpToDate(folder, letter+".toml", plan) {
			t.Errorf("the index that the run of %s wrote is not up to date for it", letter)
		}
		states := map[string]State{}
		for _, r := range x.Rows {
			states[r.Report] = r.State
		}
		return states
	}
	planA := []Standing{{"a1.pdf", Current, ""}, {"a2.pdf", Failed, "bad file"}, {"a4.pdf", Failed, "no unit"}}
	planB := []Standing{{"b1.pdf", Current, ""}, {"b2.pdf", Failed, "bad"}}
	run("a", planA...)
	want := map[string]State{"a1.pdf": Current, "a2.pdf": Stale, "a3.pdf": Orphaned, "a4.pdf": Failed, "b1.pdf": Current,
		"b2.pdf": Failed}
	if got := run("b", planB...); !maps.Equal(got, want) {
		t.Errorf("after both plans: %v, want %v", got, want)
	}
	if !UpToDate(folder, "a.toml", planA) {
		t.Error("the index is not up to date for the plan that ran first")
	}
	planA[1].State, want["a2.pdf"] = Current, Current
	if got := run("a", planA...); !maps.Equal(got, want) {
		t.Errorf("after the first ran again: %v, want %v", got, want)
	}
	if err := os.Remove(filepath.Join(folder, "a.toml")); err != nil {
		t.Fatal(err)
	}
	want["a3.pdf"] = Current
	delete(want, "a4.pdf")
	if got := run("b", planB...); !maps.Equal(got, want) {
		t.Errorf("without the first plan: %v, want %v", got, want)
	}
}

// TestDesigns: a review of designs is a row for each, with its verdict and its margins, and no part of any history.
func TestDesigns(t *testing.T) {
	r := unit("1", "L", "2026-11-01", 1, 45)
	r.Units = nil
	r.Designs = []record.Design{{Design: "one stage", Verdicts: []record.Verdict{{Subject: "limits", Outcome: "pass"}},
		Limits: []record.DesignLimit{{Quantity: "isolation", Rule: "at least", Limit: "30", Unit: "dB", Over: "band",
			Computed: "33.5", Margin: "3.5", Outcome: "pass"}}},
		{Design: "two stages", Verdicts: []record.Verdict{{Subject: "limits", Outcome: "pass"},
			{Subject: "yield", Outcome: "fail"}}}}
	rows := Rows("review.pdf", "d", r)
	if len(rows) != 2 || rows[0].called() != "design one stage" || rows[0].Verdict != "pass" ||
		rows[0].tightest().Margin != "3.5" || rows[1].Verdict != "fail" {
		t.Errorf("rows %+v", rows)
	}
	if s := Histories(rows); len(s) != 0 {
		t.Errorf("%d histories of designs", len(s))
	}
	units, values := (&Index{Rows: rows}).tables()
	if !strings.Contains(string(units), ",false,one stage,") || !strings.Contains(string(values), ",design,isolation,") {
		t.Errorf("tables:\n%s\n%s", units, values)
	}
}

// TestChains: a unit that was measured, turned as its diagnosis said, and measured again, in reports of their own and in
// one of the lot: each test has its place, and the one after the rework what had been predicted and what came of it.
func TestChains(t *testing.T) {
	folder := t.TempDir()
	first := unit("7", "L", "2026-11-01", -2, 45)
	at := first.Units[0].Limits[0].Over
	first.Units[0].Diagnosis.Correction = &record.Correction{Part: "wedge2", Gains: []record.Gain{
		{At: "elsewhere", Before: "20.00", After: "21.00"}, {At: at, Before: "28.00", After: "36.00"}}}
	place(t, folder, "7", first, false)
	first.Units[0].Limits[0].Quantity = isolation
	second := unit("7", "L", "2026-11-03", 5.5, 45)
	second.Units[0].Limits[0].Quantity = isolation
	second.Inputs[0].Meta = append(second.Inputs[0].Meta, record.Field{Name: "Rework", Value: "wedge 2 turned"})
	place(t, folder, "7-again", second, false)
	both := unit("7", "L", "2026-11-01", -2, 45)
	both.Units[0].Diagnosis.Correction = first.Units[0].Diagnosis.Correction
	place(t, folder, "lot", both, false)
	place(t, folder, "8", unit("8", "L", "2026-11-02", 1, 45), false)
	x := built(t, folder, Options{})
	got := map[string]string{}
	for i := range x.Rows {
		r := &x.Rows[i]
		if got[r.Report] = r.Chain.said(); r.Report == "7-again.pdf" && r.Chain.Given != r.Values[0].Value {
			t.Errorf("given %s, measured %s", r.Chain.Given, r.Values[0].Value)
		}
	}
	want := map[string]string{"7.pdf": "test 1 of 2, first", "lot.pdf": "test 1 of 2, first", "8.pdf": "",
		"7-again.pdf": "test 2 of 2, after rework 1 (wedge 2 turned): isolation 35.50 dB, 36.00 dB predicted, " + at}
	if !maps.Equal(got, want) {
		t.Errorf("chains %v, want %v", got, want)
	}
	if units, _ := x.tables(); !strings.Contains(string(units), ",2,2,after rework 1,wedge 2 turned,36.00,35.50,") {
		t.Errorf("table:\n%s", units)
	}
}
