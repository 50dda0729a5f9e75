// Package sheet writes tables of numbers and texts as files that other programs read: comma-separated text and
// workbooks. The same tables give the same bytes.
package sheet

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
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

// Workbook writes tables as the sheets of a workbook. Numbers are numbers, and a text is a text whatever it begins
// with.
func Workbook(tables []Table) ([]byte, error) {
	book := excelize.NewFile()
	defer book.Close()
	fields := 0
	names := map[string]bool{}
	for i, t := range tables {
		if err := t.check(); err != nil {
			return nil, err
		}
		if fields += t.Columns[0].rows() * len(t.Columns); fields > mostFields {
			return nil, fmt.Errorf("the tables have more than the limit of %d fields", mostFields)
		}
		name := sheetName(t.Name, i, names)
		var err error
		if i == 0 {
			err = book.SetSheetName(book.GetSheetName(0), name)
		} else {
			_, err = book.NewSheet(name)
		}
		if err == nil {
			err = t.fill(book, name)
		}
		if err != nil {
			return nil, fmt.Errorf("sheet %q: %w", name, err)
		}
	}
	var b bytes.Buffer
	if err := book.Write(&b); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func (t Table) fill(book *excelize.File, name string) error {
	w, err := book.NewStreamWriter(name)
	if err != nil {
		return err
	}
	row := make([]any, len(t.Columns))
	for j, c := range t.Columns {
		row[j] = c.Head
	}
	for i := range t.Columns[0].rows() + 1 {
		if i > 0 {
			for j, c := range t.Columns {
				switch {
				case c.Numbers == nil:
					row[j] = c.Texts[i-1]
				case math.IsNaN(c.Numbers[i-1]) || math.IsInf(c.Numbers[i-1], 0):
					row[j] = nil
				default:
					row[j] = c.Numbers[i-1]
				}
			}
		}
		cell, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			return err
		}
		if err := w.SetRow(cell, row); err != nil {
			return err
		}
	}
	return w.Flush()
}

// sheetName makes a name that a workbook can have and has not yet: at most 31 characters, none of []:*?/\.
func sheetName(name string, i int, taken map[string]bool) string {
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`[]:*?/\`, r) || r < ' ' {
			return '-'
		}
		return r
	}, name)
	name = strings.Trim(name, "' ")
	const most = 31
	for utf8.RuneCountInString(name) > most {
		_, size := utf8.DecodeLastRuneInString(name)
		name = name[:len(name)-size]
	}
	if lower := strings.ToLower(name); name == "" || taken[lower] || lower == "history" {
		name = fmt.Sprintf("Sheet %d", i+1)
	}
	taken[strings.ToLower(name)] = true
	return name
}
