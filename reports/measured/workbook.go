package measured

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// What a workbook may hold, so that a small file cannot unpack into all of a machine's memory (choices: a
// hundred sweeps of ten thousand points need less).
const (
	mostUnpacked = 256 << 20 // bytes
	mostRows     = 200_000
	mostColumns  = 256
	mostMerged   = 1000 // ranges: each is looked at for every cell
)

func isArchive(data []byte) bool { return bytes.HasPrefix(data, []byte("PK\x03\x04")) }

// workbook reads one sheet of an .xlsx file as cells. Numbers come as the file stores them, with all their digits
// and whatever the format on screen; formulas come as the values stored with them.
func workbook(f File, sheet string) (g *grid, err error) {
	refuse := func(sheet, found, want string) error {
		return &Refusal{File: f.Name, Sheet: sheet, Found: found, Want: want}
	}
	// The library indexes into what a file claims; a file made to mislead it must not end a session.
	defer func() {
		if r := recover(); r != nil {
			g, err = nil, refuse("", fmt.Sprintf("a workbook whose parts contradict each other (%v)", r), "an .xlsx workbook, saved anew")
		}
	}()
	if err := checkArchive(f); err != nil {
		return nil, err
	}
	book, err := excelize.OpenReader(bytes.NewReader(f.Data), excelize.Options{
		RawCellValue: true, UnzipSizeLimit: mostUnpacked, UnzipXMLSizeLimit: mostUnpacked,
	})
	if err != nil {
		return nil, refuse("", "a workbook that cannot be opened ("+err.Error()+")", "an .xlsx workbook")
	}
	defer book.Close()
	if sheet, err = choose(f, book, sheet); err != nil {
		return nil, err
	}
	g = &grid{file: f, sheet: sheet, ragged: true}
	return g, g.cells(book)
}

// checkArchive refuses archives that are no workbooks or unpack into too much. The sizes that an archive
// states are enforced by the unpacking itself.
func checkArchive(f File) error {
	z, err := zip.NewReader(bytes.NewReader(f.Data), int64(len(f.Data)))
	if err != nil {
		return &Refusal{File: f.Name, Found: "a broken zip archive (" + err.Error() + ")", Want: wantText}
	}
	sum := uint64(0)
	book := false
	for _, part := range z.File {
		sum += part.UncompressedSize64
		book = book || strings.EqualFold(part.Name, "xl/workbook.xml")
		if sum > mostUnpacked {
			return &Refusal{File: f.Name, Found: "a workbook of more than 256 MB unpacked", Want: "readings alone"}
		}
	}
	if !book {
		return &Refusal{File: f.Name, Found: "a zip archive that is no .xlsx workbook", Want: wantText}
	}
	for _, part := range z.File {
		if strings.HasPrefix(strings.ToLower(part.Name), "xl/worksheets/") && orphaned(part) {
			return &Refusal{File: f.Name, Found: "a formula shared with a cell that is not there, in " + part.Name, Want: "an .xlsx workbook, saved anew"}
		}
	}
	return nil
}

// choose finds the sheet of a name, or the only one that holds anything.
func choose(f File, book *excelize.File, name string) (string, error) {
	all := book.GetSheetList()
	if name != "" {
		for _, s := range all {
			if strings.EqualFold(s, name) {
				return s, nil
			}
		}
		return "", &Refusal{File: f.Name, Found: "no sheet " + strconv.Quote(name), Want: "one of " + strings.Join(all, ", ")}
	}
	var full []string
	for _, s := range all {
		rows, err := book.Rows(s)
		if err != nil {
			continue // a chart sheet
		}
		for rows.Next() {
			cells, err := rows.Columns()
			if err != nil || slices.ContainsFunc(cells, func(c string) bool { return strings.TrimSpace(c) != "" }) {
				full = append(full, s)
				break
			}
		}
		rows.Close()
	}
	switch len(full) {
	case 1:
		return full[0], nil
	case 0:
		return "", &Refusal{File: f.Name, Found: "an empty workbook", Want: "a head of columns and rows of readings"}
	}
	return "", &Refusal{File: f.Name, Found: "the sheets " + strings.Join(full, ", "), Want: "one, or the name of the sheet to read, as in sheet=" + strconv.Quote(full[0])}
}

// cells reads the rows of the sheet.
func (g *grid) cells(book *excelize.File) error {
	rows, err := book.Rows(g.sheet)
	if err != nil {
		return g.refuse(0, 0, "a sheet that cannot be read ("+err.Error()+")", "a sheet of cells")
	}
	defer rows.Close()
	widest := 0
	for n := 1; rows.Next(); n++ {
		cells, err := rows.Columns()
		switch {
		case err != nil:
			return g.refuse(n, 0, "a row that cannot be read ("+err.Error()+")", "cells")
		case n > mostRows:
			return g.refuse(n, 0, "a cell", fmt.Sprintf("at most %d rows", mostRows))
		case len(cells) > mostColumns:
			return g.refuse(n, len(cells), "a cell", fmt.Sprintf("at most %d columns", mostColumns))
		}
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		if len(cells) == 0 {
			continue
		}
		widest = max(widest, len(cells))
		g.rows = append(g.rows, gridRow{line: n, cells: cells, hidden: rows.GetRowOpts().Hidden})
	}
	if err := rows.Error(); err != nil {
		return g.refuse(0, 0, "a sheet that cannot be read ("+err.Error()+")", "a sheet of cells")
	}
	if err := g.layout(book, widest); err != nil {
		return err
	}
	if err := g.look(book, widest); err != nil {
		return err
	}
	g.rows = slices.DeleteFunc(g.rows, func(row gridRow) bool {
		return !row.remark && !slices.ContainsFunc(row.cells, func(c string) bool { return c != "" })
	})
	return nil
}

// layout notes what the cells stand in: merged ranges and hidden columns.
func (g *grid) layout(book *excelize.File, widest int) error {
	merged, err := book.GetMergeCells(g.sheet, true)
	if err != nil {
		return g.refuse(0, 0, "merged cells that cannot be read ("+err.Error()+")", "a sheet of cells")
	}
	if len(merged) > mostMerged {
		return g.refuse(0, 0, fmt.Sprintf("%d merged ranges", len(merged)), "one value in each cell")
	}
	for _, m := range merged {
		r := mergedRange{text: m[0]}
		if r.left, r.top, err = excelize.CellNameToCoordinates(m.GetStartAxis()); err == nil {
			r.right, r.bottom, err = excelize.CellNameToCoordinates(m.GetEndAxis())
		}
		if err != nil {
			return g.refuse(0, 0, "the merged range "+quote(m[0]), "a range such as A1:C1")
		}
		g.merged = append(g.merged, r)
	}
	g.hidden = make([]bool, widest)
	for i := range g.hidden {
		visible, err := book.GetColVisible(g.sheet, letters(i+1))
		g.hidden[i] = err == nil && !visible
	}
	return nil
}

// look goes over the cells again for what their values do not show: formulas without a stored value, and
// numbers that are dates, percentages or truth values.
func (g *grid) look(book *excelize.File, widest int) error {
	styles := map[int]*excelize.Style{}
	styleOf := func(cell string) (*excelize.Style, error) {
		id, err := book.GetCellStyle(g.sheet, cell)
		if err != nil {
			return nil, err
		}
		if styles[id] == nil {
			if styles[id], err = book.GetStyle(id); err != nil {
				return nil, err
			}
		}
		return styles[id], nil
	}
	for r := range g.rows {
		row := &g.rows[r]
		for i := range widest {
			name := letters(i+1) + strconv.Itoa(row.line)
			value := ""
			if i < len(row.cells) {
				value = row.cells[i]
			}
			if value == "" && !g.covered(i+1, row.line) {
				formula, err := book.GetCellFormula(g.sheet, name)
				if err == nil && formula != "" {
					return g.refuse(row.line, i+1, "the formula "+quote(formula)+" without a stored value", "a value: calculate and save the workbook once more")
				}
			}
			if value == "" {
				continue
			}
			serial, err := strconv.ParseFloat(value, 64)
			if err != nil {
				continue
			}
			if value == "0" || value == "1" {
				if kind, err := book.GetCellType(g.sheet, name); err == nil && kind == excelize.CellTypeBool {
					row.cells[i] = strings.ToUpper(strconv.FormatBool(value == "1")) // refused where a number is due
					continue
				}
			}
			style, err := styleOf(name)
			if err != nil {
				return g.refuse(row.line, i+1, "a cell whose format cannot be read ("+err.Error()+")", "a number or a text")
			}
			switch {
			case isPercentage(style):
				row.cells[i] = strconv.FormatFloat(100*serial, 'g', 12, 64) + " %" // as the sheet shows it
			case isDate(style):
				if row.cells[i], err = isoDate(book, serial); err != nil {
					return g.refuse(row.line, i+1, "the date "+value, "a date since 1900")
				}
			}
		}
		if comment, ok := commentOf(row.cells[0]); ok {
			row.comment, row.remark = comment, true
			if rest := strings.Join(slices.DeleteFunc(slices.Clone(row.cells[1:]), func(s string) bool { return s == "" }), " "); rest != "" {
				if strings.HasSuffix(comment, ":") || strings.Contains(comment, ":") {
					row.comment += " " + rest
				} else {
					row.comment += ": " + rest
				}
			}
		}
	}
	return nil
}

// isPercentage tells whether numbers of a style are shown as percentages: the built-in formats 9 and 10 (ECMA-376,
// 18.8.30), or a format with a percent sign.
func isPercentage(style *excelize.Style) bool {
	return style.NumFmt == 9 || style.NumFmt == 10 || style.CustomNumFmt != nil && strings.Contains(*style.CustomNumFmt, "%")
}

// isDate tells whether numbers of a style are shown as dates or times: the built-in formats 14 to 22 and 45 to
// 47 (ECMA-376, 18.8.30), or a format with a day or a year in it.
func isDate(style *excelize.Style) bool {
	if n := style.NumFmt; n >= 14 && n <= 22 || n >= 45 && n <= 47 {
		return true
	}
	if style.CustomNumFmt == nil {
		return false
	}
	format, quoted := *style.CustomNumFmt, false
	plain := strings.Map(func(r rune) rune {
		switch {
		case r == '"':
			quoted = !quoted
			return -1
		case quoted:
			return -1
		}
		return r
	}, strings.ToLower(format))
	for strings.Contains(plain, "[") && strings.Contains(plain, "]") { // colours and conditions
		open, shut := strings.Index(plain, "["), strings.Index(plain, "]")
		if shut < open {
			break
		}
		plain = plain[:open] + plain[shut+1:]
	}
	return strings.ContainsAny(plain, "yd")
}

var errNoDate = errors.New("no date")

// isoDate writes a date of a workbook, a number of days, as ISO 8601 has it.
func isoDate(book *excelize.File, serial float64) (string, error) {
	props, err := book.GetWorkbookProps()
	if err != nil {
		return "", err
	}
	when, err := excelize.ExcelDateToTime(serial, props.Date1904 != nil && *props.Date1904)
	if err != nil || serial < 0 {
		return "", errNoDate
	}
	if when = when.Round(time.Second); when.Equal(when.Truncate(24 * time.Hour)) {
		return when.Format(time.DateOnly), nil
	}
	return when.Format(time.DateTime), nil
}
