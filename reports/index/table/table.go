// Package table knows the files of an index of reports by their names and by what they begin with, so that a plan whose
// patterns match them does not take them for readings.
package table

import (
	"io"
	"path/filepath"
	"strings"

	"wedgework/reports/files"
)

// The tables of an index, in the folder that it is about.
const (
	Units  = "index.csv"        // a line for each unit of each report
	Values = "index-values.csv" // a line for each limit and fitted parameter of each
)

// Heads are the columns of the tables. One may be added at the end, none removed.
var Heads = map[string][]string{
	Units: {"report", "number", "digest", "title", "part", "issued", "program", "unit", "lot", "bench", "measured",
		"input", "state", "says", "verdict", "model_agreement", "limit_conformity", "data_quality", "causes",
		"least_margin", "least_margin_unit", "least_margin_of", "retested", "design",
		"test", "tests", "stage", "rework", "predicted_isolation", "isolation_then", "predicted_at",
		"condition"},
	Values: {"report", "digest", "unit", "lot", "bench", "measured", "input", "state", "retested", "kind", "name",
		"at", "rule", "limit", "tolerance", "value", "margin", "uncertainty", "value_unit", "outcome", "is_bound",
		"condition"},
}

// first is how many columns the tables of the first version had.
var first = map[string]int{Units: 23, Values: 21}

// Head is the first line of a table.
func Head(name string) string { return strings.Join(Heads[name], ",") + "\r\n" }

// Is reports whether a file is a table of an index, written by any version: it has its name and begins with the
// columns of the first one.
func Is(path string) bool {
	name := filepath.Base(path)
	if Heads[name] == nil {
		return false
	}
	f, err := files.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	columns := strings.Join(Heads[name][:first[name]], ",")
	begin := make([]byte, len(columns))
	_, err = io.ReadFull(f, begin)
	return err == nil && string(begin) == columns
}
