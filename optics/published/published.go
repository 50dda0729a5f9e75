// Package published is how tests read the published check values of testdata/published, whose files say where each
// number comes from.
package published

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"
)

// Rows returns the rows of a file, without its head. The package of the test lies two folders deep.
func Rows(t testing.TB, name string) [][]string {
	t.Helper()
	f, err := os.Open("../../testdata/published/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	return rows[1:]
}

// Number reads a field.
func Number(t testing.TB, field string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(field, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
