package measured

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

func isArchive(data []byte) bool { return bytes.HasPrefix(data, []byte("PK\x03\x04")) }

// workbook reads one sheet of an .xlsx file as cells. Numbers come with all their digits as the file stores them,
// unless their format shows something else than a rounding of them (display.go); formulas come as the values stored
// with them.
func workbook(ctx context.Context, f File, sheet string) (g *grid, err error) {
	refuse := func(sheet, found, want string) error {
		return &Refusal{File: f.Name, Sheet: sheet, Found: found, Want: want}
	}
	// The library indexes into what a file claims; a file made to mislead it must not end a session.
	defer func() {
		if r := recover(); r != nil {
			g, err = nil, refuse("", fmt.Sprintf("a workbook whose parts contradict each other (%v)", r),
				"an .xlsx workbook, saved again")
		}
	}()
	if err := checkArchive(ctx, f); err != nil {
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
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	g = &grid{file: f, sheet: sheet}
	return g, g.cells(ctx, book)
}

// checkArchive refuses archives that are no workbooks or unpack into too much.
func checkArchive(ctx context.Context, f File) error {
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
	var all size
	for _, part := range z.File {
		if err := all.add(ctx, part); err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			return &Refusal{File: f.Name, Found: "a broken zip archive (" + err.Error() + ")", Want: wantText}
		}
		if all.tooLarge() {
			return &Refusal{File: f.Name, Found: fmt.Sprintf("a workbook of more than %d million elements or %d "+
				"million attributes", mostElements/1_000_000, mostAttributes/1_000_000), Want: "readings alone, or a " +
				"text file"}
		}
	}
	for _, part := range z.File {
		if err := ctx.Err(); err != nil {
			return err
		}
		if strings.HasPrefix(strings.ToLower(part.Name), "xl/worksheets/") && orphaned(part) {
			return &Refusal{File: f.Name, Found: "a formula shared with a cell that is not there, in " + part.Name,
				Want: "an .xlsx workbook, saved again"}
		}
	}
	return nil
}

// size is what the parts of a workbook hold: XML elements and their attributes, at most, by their angle brackets and
// equals signs.
type size struct{ elements, attributes int }

func (s *size) tooLarge() bool { return s.elements > mostElements || s.attributes > mostAttributes }

// add counts a part. It reads the part to its end, so that the size is that of the bytes and not the one that the
// archive states.
func (s *size) add(ctx context.Context, part *zip.File) error {
	if name := strings.ToLower(part.Name); !strings.HasSuffix(name, ".xml") && !strings.HasSuffix(name, ".rels") &&
		!strings.HasSuffix(name, ".vml") {
		return nil
	}
	in, err := part.Open()
	if err != nil {
		return err
	}
	defer in.Close()
	for buffer := make([]byte, 1<<16); !s.tooLarge(); {
		if err := ctx.Err(); err != nil {
			return err
		}
		k, err := in.Read(buffer)
		s.elements += bytes.Count(buffer[:k], []byte("<")) - bytes.Count(buffer[:k], []byte("</"))
		s.attributes += bytes.Count(buffer[:k], []byte("="))
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
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
		return "", &Refusal{File: f.Name, Found: "no sheet " + strconv.Quote(name), Want: "one of " + strings.Join(all,
			", ")}
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
	return "", &Refusal{File: f.Name, Found: "the sheets " + strings.Join(full, ", "),
		Want: "one, or the name of the sheet to read, as in sheet=" + strconv.Quote(full[0])}
}

// cells reads the rows of the sheet.
func (g *grid) cells(ctx context.Context, book *excelize.File) error {
	rows, err := book.Rows(g.sheet)
	if err != nil {
		return g.refuse(0, 0, "a sheet that cannot be read ("+err.Error()+")", "a sheet of cells")
	}
	defer rows.Close()
	widest := 0
	for n := 1; rows.Next(); n++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		cells, err := rows.Columns()
		switch {
		case err != nil:
			return g.refuse(n, 0, "a row that cannot be read ("+err.Error()+")", "cells")
		case n > mostRows:
			return g.refuse(n, 0, "a cell", fmt.Sprintf("at most %d rows", mostRows))
		case len(cells) > mostWide:
			return g.refuse(n, len(cells), "a cell", fmt.Sprintf("at most %d columns", mostWide))
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
	if err := g.look(ctx, book, widest); err != nil {
		return err
	}
	g.rows = slices.DeleteFunc(g.rows, func(row gridRow) bool {
		return !slices.ContainsFunc(row.cells, func(c string) bool { return c != "" })
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
// numbers that are dates, percentages or truth values, or are shown otherwise than they are stored.
func (g *grid) look(ctx context.Context, book *excelize.File, widest int) error {
	f := &formats{book: book, sheet: g.sheet, styles: map[int]*format{}}
	for r := range g.rows {
		if err := ctx.Err(); err != nil {
			return err
		}
		row := &g.rows[r]
		for i := range widest {
			name := letters(i+1) + strconv.Itoa(row.line)
			value := ""
			if i < len(row.cells) {
				value = row.cells[i]
			}
			if value == "" {
				if formula, err := book.GetCellFormula(g.sheet, name); err == nil && formula != "" &&
					!g.covered(i+1, row.line) {
					return g.refuse(row.line, i+1, "the formula "+quote(formula)+" without a stored value",
						"a value: calculate and save the workbook once more")
				}
				continue
			}
			shown, err := f.shown(name, value)
			if err != nil {
				return g.refuse(row.line, i+1, err.Error(), "a number or a text")
			}
			row.cells[i] = shown
		}
	}
	return nil
}
