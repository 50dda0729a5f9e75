package index

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"wedgework/reports/record"
)

// tested is the record of a unit before and after a test, from one file.
func tested(name string, before, after float64) *record.Record {
	r := unit(name, "L", "2026-11-01", before, 45)
	r.Units = append(r.Units, unit(name, "L", "2026-11-01", after, 45).Units...)
	r.Units[0].Condition, r.Units[1].Condition = "before", "after damp heat"
	return r
}

// TestConditions: a unit after a test is no repeat of the unit before it, takes its place in no history, and is told
// from it from one index to the next.
func TestConditions(t *testing.T) {
	folder := t.TempDir()
	margins := map[string][]float64{"before": {2, 3, 4}, "after damp heat": {1, -1, 2}}
	for i, name := range []string{"7", "8", "9"} {
		place(t, folder, name, tested(name, margins["before"][i], margins["after damp heat"][i]), true)
	}
	write := func() *Index {
		x := built(t, folder, Options{})
		if err := x.Write(folder); err != nil {
			t.Fatal(err)
		}
		return x
	}
	x := write()
	found := map[string][]float64{}
	for _, s := range x.Series {
		if s.Kind != OfLimit {
			continue
		}
		for _, v := range s.Values {
			found[s.Condition] = append(found[s.Condition], v-30)
		}
	}
	for condition, want := range margins {
		if got := found[condition]; !slices.Equal(got, want) {
			t.Errorf("%s: the history has margins %v, want %v", condition, got, want)
		}
	}
	if len(found) != 2 {
		t.Errorf("histories %v, want one for each condition", found)
	}
	for i := range x.Rows {
		r := &x.Rows[i]
		if r.Chain.Stage != "first" || r.Chain.Of != 1 || r.Chain.said() != "" {
			t.Errorf("%s is test %d of %d, %q", r.called(), r.Chain.Test, r.Chain.Of, r.Chain.Stage)
		}
	}
	units, values := x.tables()
	for what, data := range map[string][]byte{"units": units, "values": values} {
		lines, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		count := map[string]int{}
		for _, line := range lines[1:] {
			count[line[slices.Index(lines[0], "condition")]]++
		}
		if half := (len(lines) - 1) / 2; half == 0 || count["before"] != half || count["after damp heat"] != half {
			t.Errorf("%s: lines by condition %v", what, count)
		}
	}
	page, err := x.Page()
	if err != nil || !bytes.Contains(page, []byte(`"8, after damp heat"`)) ||
		!bytes.Contains(page, []byte(`"1535 nm to 1565 nm, before"`)) {
		t.Errorf("the page does not name the condition (%v)", err)
	}
	if x = write(); len(x.Changes) > 0 {
		t.Errorf("nothing changed, the index says %v", x.Changes)
	}
	place(t, folder, "8", tested("8", 3, 0.5), false)
	if x = write(); len(x.Changes) != 2 || x.Changes[0] != (Change{"8.pdf", "8, after damp heat", "pass, was fail"}) {
		t.Errorf("changes %v, want the unit after the test to pass now", x.Changes)
	}
}

// TestChainsOfConditions: a unit that was measured twice before a test and once after it, each time in a file of its own.
func TestChainsOfConditions(t *testing.T) {
	var rows []Row
	for _, c := range []struct{ day, condition string }{{"2026-11-01", "before"}, {"2026-11-02", "before"},
		{"2026-11-09", "after vibration"}} {
		r := unit("7", "L", c.day, 1, 45)
		r.Units[0].Condition = c.condition
		rows = append(rows, Rows(c.day+".pdf", c.day, r)...)
	}
	Chains(rows)
	for i, want := range []string{"test 1 of 2, first", "test 2 of 2, repeat", ""} {
		if got := rows[i].Chain.said(); got != want {
			t.Errorf("%s of %s: %q, want %q", rows[i].called(), rows[i].Measured, got, want)
		}
	}
}

// TestCacheOfAnotherVersion: what an earlier program remembered of a record, without what it did not know, is not kept,
// and what the last index said is.
func TestCacheOfAnotherVersion(t *testing.T) {
	folder := t.TempDir()
	place(t, folder, "7", tested("7", 2, 1), false)
	x := built(t, folder, Options{})
	if err := x.Write(folder); err != nil {
		t.Fatal(err)
	}
	at := filepath.Join(folder, CacheName)
	data, err := os.ReadFile(at)
	if err != nil {
		t.Fatal(err)
	}
	if c := openCache(folder); len(c.Files) != 1 || len(c.Last) != 2 {
		t.Errorf("the cache of this version knows %d files and %d rows", len(c.Files), len(c.Last))
	}
	for _, version := range []string{"1", "3"} {
		put(t, at, bytes.Replace(data, []byte(`"version":2`), []byte(`"version":`+version), 1))
		if c := openCache(folder); len(c.Files) != 0 || len(c.Last) != 2 || c.Version != rowsVersion {
			t.Errorf("version %s: %d files are not read again, %d rows are known", version, len(c.Files),
				len(c.Last))
		}
	}
	put(t, at, bytes.Replace(data, []byte(`"version":2,`), nil, 1)) // as before there were versions
	if c := openCache(folder); len(c.Files) != 0 || len(c.Last) != 2 {
		t.Errorf("without a version: %d files are not read again, %d rows are known", len(c.Files), len(c.Last))
	}
}
