package measured

import (
	"context"
	"strings"
)

// grid is a file of readings as rows of cells, before anything is known of their meaning. The rows of a text are cut
// as they are walked over and kept by nobody; those of a workbook lie in memory.
type grid struct {
	file   File
	sheet  string // of a workbook
	text   string // of a text file, decoded
	shares bool   // the text is the bytes of the file themselves
	sep    rune
	rows   []gridRow // of a workbook

	merged  []mergedRange
	hidden  []bool // by column of a sheet
	warning string
}

// gridRow is a row that is not blank.
type gridRow struct {
	line   int      // counted from 1; the row of a sheet
	text   string   // of a text file, without the line end
	cells  []string // trimmed; those of a text only once they are cut, and until the next row is
	quoted bool     // a field of a text stands in quotes
	hidden bool     // a row of a sheet that is not shown
}

// marks begin a comment line: the number sign of our own files and of most scripts, the percent sign, the
// exclamation mark, the double slash and the semicolon of others.
var marks = []string{"#", "%", "!", "//", ";"}

// commentOf returns the text of a comment line.
func commentOf(line string) (string, bool) {
	for _, m := range marks {
		if rest, ok := strings.CutPrefix(line, m); ok {
			return strings.TrimSpace(strings.TrimLeft(rest, m)), true
		}
	}
	return "", false
}

// gridOf opens a file as rows: a workbook by its cells, a text by its dialect.
func gridOf(ctx context.Context, f File, sheet string) (*grid, error) {
	if err := checkSize(f); err != nil {
		return nil, err
	}
	if isArchive(f.Data) {
		return workbook(ctx, f, sheet)
	}
	if problem := foreign(f.Data); problem != "" {
		return nil, &Refusal{File: f.Name, Found: problem, Want: wantText}
	}
	if sheet != "" {
		return nil, &Refusal{File: f.Name, Found: "a text file, which has no sheets",
			Want: "no sheet to be named, or an .xlsx workbook"}
	}
	g := &grid{file: f}
	if err := g.decode(ctx); err != nil {
		return nil, err
	}
	var err error
	if g.sep, err = g.separator(ctx); err != nil {
		return nil, err
	}
	return g, nil
}

// foreign names the formats that are mistaken for tables most often.
func foreign(data []byte) string {
	for _, p := range []struct{ begin, what string }{
		{"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a workbook in the old binary format, or one with a password"},
		{"%PDF-", "a PDF"},
		{"\x89PNG", "a picture"},
		{"\x1f\x8b", "a compressed file"},
	} {
		if strings.HasPrefix(string(data[:min(len(data), 8)]), p.begin) {
			return p.what
		}
	}
	return ""
}

// walk goes over the rows of a grid that are not blank. It ends with its context.
type walk struct {
	ctx  context.Context
	grid *grid
	at   int // byte of the text, or index of the row, that comes next
	line int // lines read so far
	row  gridRow
	err  error

	cells []string // reused from row to row
	work  int      // since the context was last looked at
}

// rowsFrom walks over the rows after a place: the zero walk is the beginning, a copy of a walk is where it stands.
func (g *grid) rowsFrom(ctx context.Context, from walk) *walk {
	return &walk{ctx: ctx, grid: g, at: from.at, line: from.line}
}

// next goes to the next row; it is false at the end and where err is set.
func (w *walk) next() bool {
	if w.err != nil {
		return false
	}
	if w.grid.sheet != "" {
		if w.at == len(w.grid.rows) || w.ended(1000) {
			return false
		}
		w.row = w.grid.rows[w.at]
		w.at++
		return true
	}
	text := w.grid.text
	for w.at < len(text) {
		rest := text[w.at:]
		n := strings.IndexAny(rest[:min(len(rest), mostLine+1)], "\r\n")
		w.line++
		line := rest
		switch {
		case n >= 0:
			line = rest[:n]
			if strings.HasPrefix(rest[n:], "\r\n") {
				n++
			}
			w.at += n + 1
		case len(rest) > mostLine:
			w.err = w.grid.refuse(w.line, 0, "a line of more than 1 MB", "rows of readings")
			return false
		default:
			w.at = len(text)
		}
		if w.ended(len(line) + 64) {
			return false
		}
		if strings.TrimSpace(line) != "" {
			w.row = gridRow{line: w.line, text: line}
			return true
		}
	}
	return false
}

// ended looks at the context once in a while.
func (w *walk) ended(work int) bool {
	if w.work += work; w.work < 1<<20 {
		return false
	}
	w.work = 0
	w.err = w.ctx.Err()
	return w.err != nil
}

// cut parts the row into its cells, which are valid until the next row is cut.
func (w *walk) cut() error {
	if w.grid.sheet != "" {
		return nil
	}
	var err error
	w.cells, w.row.quoted, err = w.grid.fields(w.cells[:0], w.row)
	w.row.cells = w.cells
	return err
}

// above returns the text of a comment that stands above the heads. Spreadsheets put quotes around one that has a
// separator in it, and empty fields behind it.
func (w *walk) above() (string, bool) {
	if w.grid.sheet != "" {
		return w.joined()
	}
	trimmed := strings.TrimSpace(w.row.text)
	if _, ok := commentOf(strings.TrimLeft(trimmed, `"`)); ok && trimmed[0] == '"' && w.cut() == nil {
		return w.joined()
	}
	return commentOf(trimmed)
}

// joined returns the text of a comment in the first cell, with what stands in the cells beside it.
func (w *walk) joined() (string, bool) {
	comment, ok := commentOf(w.row.cells[0])
	var beside []string
	for _, c := range w.row.cells[1:] {
		if c != "" {
			beside = append(beside, c)
		}
	}
	rest := strings.Join(beside, " ")
	switch {
	case rest == "" || !ok:
	case w.grid.sheet == "" || strings.Contains(comment, ":"):
		comment += " " + rest
	default:
		comment += ": " + rest
	}
	return comment, ok
}

// below returns the text of a comment among the readings: a line that begins with a mark, has no quotes and fewer
// fields than there are columns; the row must be cut. Empty fields at its end do not count where nothing else follows.
// A mark that begins a whole row, such as #18 in a column of serial numbers, is part of its field, and so is that of an
// error value of a spreadsheet.
func (w *walk) below(columns int) (string, bool) {
	first := w.row.cells[0]
	comment, ok := commentOf(first)
	if !ok || w.row.quoted || beyond[strings.ToLower(first)] || notTaken[strings.ToLower(first)] ||
		strings.HasPrefix(first, "#DIV") {
		return "", false
	}
	filled := 0
	for _, c := range w.row.cells {
		if c != "" {
			filled++
		}
	}
	switch {
	case filled == 1:
		return comment, true
	case w.grid.sheet != "" || len(w.row.cells) >= columns:
		return "", false
	}
	comment, _ = commentOf(strings.TrimSpace(w.row.text))
	return comment, true
}
