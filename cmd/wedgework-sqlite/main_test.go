package main

import (
	"database/sql"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wedgework/reports/index"
	"wedgework/reports/record"
)

// unit is the record of one unit.
func unit(i int, margin float64) *record.Record {
	outcome := "pass"
	if margin < 0 {
		outcome = "fail"
	}
	name := fmt.Sprintf("%05d", i)
	return &record.Record{Program: record.Program{Name: "wedgework", Version: "1"}, Number: "WR-" + name,
		Units: []record.Unit{{Unit: name, Lot: fmt.Sprint("L", i/100), Input: name + ".csv", Measured: "2026-11-02",
			Verdicts: []record.Verdict{{Subject: "limit conformity", Outcome: outcome}},
			Limits: []record.Limit{{Quantity: "isolation", Rule: "at least", Limit: "30.00", Unit: "dB", Over: "23 °C",
				Measured: record.Decimal(30+margin, 2), Margin: record.Decimal(margin, 2), Outcome: outcome}}}}}
}

func open(t testing.TB, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

// TestEqualToScan: what queries say is what a scan of the JSON records says, with hostile texts among them.
func TestEqualToScan(t *testing.T) {
	folder := t.TempDir()
	r := rand.New(rand.NewPCG(3, 4))
	fails, least, sum, n := map[string]int{}, math.Inf(1), 0.0, 0
	for i := range 400 {
		one := unit(i, 1+r.NormFloat64())
		if i == 7 {
			one.Units[0].Lot = `'); DROP TABLE value; --`
		}
		data, err := one.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, fmt.Sprint(i, ".json")), data, 0o666); err != nil {
			t.Fatal(err)
		}
		back, err := record.Read(data)
		if err != nil {
			t.Fatal(err)
		}
		u := back.Units[0]
		if !u.Passes() {
			fails[u.Lot]++
		}
		least = min(least, u.Limits[0].Margin.Float())
		if u.Lot == "L2" {
			sum, n = sum+u.Limits[0].Measured.Float(), n+1
		}
	}
	if problems, err := write(folder, index.Records); err != nil || len(problems) > 0 {
		t.Fatal(problems, err)
	}
	db := open(t, filepath.Join(folder, Name))
	rows, err := db.Query("SELECT lot, fail FROM lot_yield")
	if err != nil {
		t.Fatal(err)
	}
	lots := 0
	for rows.Next() {
		var lot string
		var fail int
		if err := rows.Scan(&lot, &fail); err != nil {
			t.Fatal(err)
		}
		lots++
		if fail != fails[lot] {
			t.Errorf("lot %s: %d fail, the records say %d", lot, fail, fails[lot])
		}
	}
	if rows.Err() != nil || lots != 5 {
		t.Errorf("%d lots, %v", lots, rows.Err())
	}
	var margin, mean float64
	if err := db.QueryRow("SELECT min(margin) FROM value").Scan(&margin); err != nil || margin != least {
		t.Errorf("least margin %g, the records say %g (%v)", margin, least, err)
	}
	if err := db.QueryRow("SELECT mean FROM lot_value WHERE lot = 'L2'").Scan(&mean); err != nil ||
		math.Abs(mean-sum/float64(n)) > 1e-9 { // a sum of a hundred doubles
		t.Errorf("mean %g, the records say %g (%v)", mean, sum/float64(n), err)
	}
}

// TestConditions: units before and after a test have yields and figures of their own, and are told apart in every row; a
// design that was reviewed is in none of them.
func TestConditions(t *testing.T) {
	var rows []index.Row
	for condition, margins := range map[string][]float64{"before": {1, 2, 3}, "after damp heat": {-1, 0.5, 2}} {
		for i, margin := range margins {
			one := unit(i, margin)
			one.Units[0].Condition = condition
			rows = append(rows, index.Rows(fmt.Sprint(condition, i, ".pdf"), "", one)...)
		}
	}
	review := &record.Record{Designs: []record.Design{{Design: "two stages",
		Verdicts: []record.Verdict{{Subject: "limits", Outcome: "fail"}},
		Limits: []record.DesignLimit{{Quantity: "isolation", Rule: "at least", Limit: "30", Unit: "dB", Over: "23 °C",
			Computed: "29", Margin: "-1", Outcome: "fail"}}}}}
	rows = append(rows, index.Rows("review.pdf", "", review)...)
	path := filepath.Join(t.TempDir(), Name)
	if err := fill(path, rows); err != nil {
		t.Fatal(err)
	}
	db := open(t, path)
	for query, want := range map[string]string{
		"SELECT units || ' ' || pass || ' ' || fail FROM lot_yield WHERE test_condition = 'before'":          "3 3 0",
		"SELECT units || ' ' || pass || ' ' || fail FROM lot_yield WHERE test_condition = 'after damp heat'": "3 2 1",
		"SELECT units || ' ' || mean FROM lot_value WHERE test_condition = 'before'":                         "3 32.0",
		"SELECT units || ' ' || mean FROM lot_value WHERE test_condition = 'after damp heat'":                "3 30.5",
		"SELECT count(*) FROM lot_yield":                                                       "2",
		"SELECT group_concat(unit || ' ' || condition) FROM failing":                           "00000 after damp heat",
		"SELECT design || ' ' || verdict FROM unit_report WHERE design <> ''":                  "two stages fail",
		"SELECT count(*) FROM current WHERE design <> ''":                                      "0",
		"SELECT kind || ' ' || margin FROM value WHERE name = 'isolation' AND kind = 'design'": "design -1.0",
	} {
		var got string
		if err := db.QueryRow(query).Scan(&got); err != nil || got != want {
			t.Errorf("%s: %q, want %q (%v)", query, got, want, err)
		}
	}
}

// TestOwnFile: a file of that name which is no database stays.
func TestOwnFile(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, Name)
	if err := os.WriteFile(path, []byte("mine"), 0o666); err != nil {
		t.Fatal(err)
	}
	_, err := write(folder, index.Records)
	data, _ := os.ReadFile(path)
	entries, _ := os.ReadDir(folder)
	if err == nil || !strings.Contains(err.Error(), "not overwritten") || string(data) != "mine" || len(entries) != 1 {
		t.Errorf("error %v, holds %q, %d files", err, data, len(entries))
	}
}

// BenchmarkQuery: queries over 100,000 units.
func BenchmarkQuery(b *testing.B) {
	var rows []index.Row
	for i := range 100_000 {
		rows = append(rows, index.Rows(fmt.Sprint(i, ".pdf"), fmt.Sprint(i), unit(i, float64(i%400)/100-0.1))...)
	}
	path := filepath.Join(b.TempDir(), Name)
	if err := fill(path, rows); err != nil {
		b.Fatal(err)
	}
	db := open(b, path)
	for name, query := range map[string]string{
		"unit":    "SELECT count(*) FROM unit_report WHERE lot = 'L123' AND unit = '12345'",
		"failing": "SELECT count(*) FROM failing",
		"worst":   "SELECT count(*) FROM (SELECT * FROM value WHERE name = 'isolation' AND condition = '23 °C' ORDER BY margin LIMIT 20)",
		"lot":     "SELECT units FROM lot_value WHERE lot = 'L123'",
		"yield":   "SELECT count(*) FROM lot_yield",
	} {
		b.Run(name, func(b *testing.B) {
			for range b.N {
				var n int
				if err := db.QueryRow(query).Scan(&n); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
