// Package sheet writes tables of numbers and texts as files that other programs read: comma-separated text and
// workbooks. The same tables give the same bytes.
package sheet

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
)

// Table is a table whose columns are equally long.
type Table struct {
	Name    string // of its sheet in a workbook
	Columns []Column
}

// Column holds numbers, where NaN is an empty field, or texts.
type Column struct {
	Head    string // "isolation [dB]"
	Numbers []float64
	Texts   []string
}

func (c Column) rows() int { return max(len(c.Numbers), len(c.Texts)) }

// Bounds: rows and columns that a workbook can have, and fields of one that is made in memory (a choice).
const (
	mostRows    = 1<<20 - 1
	mostColumns = 1 << 14
	mostFields  = 2_000_000
)

// check refuses a table that is none, or too large.
func (t Table) check() error {
	if len(t.Columns) == 0 {
		return fmt.Errorf("table %q has no columns", t.Name)
	}
	rows := t.Columns[0].rows()
	for _, c := range t.Columns {
		if c.rows() != rows {
			return fmt.Errorf("table %q: column %q has %d rows, the first has %d", t.Name, c.Head, c.rows(), rows)
		}
	}
	if rows > mostRows || len(t.Columns) > mostColumns || rows*len(t.Columns) > mostFields {
		return fmt.Errorf("table %q has %d rows of %d columns, more than the limit of %d fields", t.Name, rows,
			len(t.Columns), mostFields)
	}
	return nil
}

// number writes a number with the digits that it needs to be read back as it is.
func number(v float64) string {
	if math.IsNaN(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// CSV writes a table as comma-separated text in UTF-8 with line feeds (RFC 4180 but for these), the heads first.
func (t Table) CSV() ([]byte, error) {
	if err := t.check(); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	row := make([]string, len(t.Columns))
	for j, c := range t.Columns {
		row[j] = c.Head
	}
	_ = w.Write(row) // a buffer does not fail
	for i := range t.Columns[0].rows() {
		for j, c := range t.Columns {
			if c.Numbers != nil {
				row[j] = number(c.Numbers[i])
			} else {
				row[j] = c.Texts[i]
			}
		}
		_ = w.Write(row)
	}
	w.Flush()
	return b.Bytes(), w.Error()
}
