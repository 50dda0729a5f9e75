package measured

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"wedgework/optics/quantity"
)

// Rows is a table of anything: what a file of readings is, but for what its columns mean.
type Rows struct {
	File    File
	Sheet   string // of a workbook
	Columns []AnyColumn
	Lines   []int // of the file, one a row
}

// AnyColumn is a column of a table of anything: numbers, NaN for an empty field, or texts.
type AnyColumn struct {
	Name    string
	Unit    quantity.Unit // of the numbers; one that is no unit of the vocabulary stays in the name
	Numbers []float64     // nil for texts
	Texts   []string
}

// mostCells bounds a table of anything: each cell becomes a value of its own (a choice).
const mostCells = 1 << 20

// ReadRows reads a table of any kind, in the dialects and with the bounds of ReadSheet. Comment lines are skipped. A
// column whose head has a unit holds numbers only; one without holds numbers when every field is one and none begins
// with
// a zero that a number would lose, as serial numbers do. An error is a *Refusal.
func ReadRows(ctx context.Context, f File, sheet string) (*Rows, error) {
	g, err := gridOf(ctx, f, sheet)
	if err != nil {
		return nil, err
	}
	t := &Rows{File: f, Sheet: g.sheet}
	w := g.rowsFrom(ctx, walk{})
	heads, err := t.heads(g, w)
	if err != nil {
		return nil, err
	}
	cells, err := t.cells(g, w, len(heads))
	if err != nil {
		return nil, err
	}
	mark, err := t.mark(g, cells)
	if err != nil {
		return nil, err
	}
	for i := range heads {
		if err := t.fill(g, cells, i, mark); err != nil {
			return nil, err
		}
	}
	return t, ctx.Err()
}

// heads reads the first row that is no comment.
func (t *Rows) heads(g *grid, w *walk) ([]string, error) {
	for w.next() {
		if _, comment := w.above(); comment {
			continue
		}
		if err := w.cut(); err != nil {
			return nil, err
		}
		heads := append([]string(nil), w.row.cells...)
		for len(heads) > 0 && heads[len(heads)-1] == "" {
			heads = heads[:len(heads)-1]
		}
		if len(heads) > mostWide {
			return nil, g.refuse(w.row.line, 0, fmt.Sprintf("%d columns", len(heads)),
				fmt.Sprintf("at most %d", mostWide))
		}
		seen := map[string]bool{}
		for i, h := range heads {
			c := AnyColumn{Name: h}
			for _, b := range brackets {
				if open := strings.LastIndexByte(h, b[0]); open > 0 && strings.HasSuffix(h, b[1:]) {
					if u, ok := lookUp(strings.TrimSpace(h[open+1 : len(h)-1])); ok {
						c.Name, c.Unit = strings.TrimSpace(h[:open]), u
					}
				}
			}
			switch {
			case c.Name == "":
				return nil, g.refuse(w.row.line, i+1, "an empty heading", "a name for every column")
			case seen[c.Name]:
				return nil, g.refuse(w.row.line, i+1, "a second column "+quote(c.Name), "a name of its own for each")
			}
			seen[c.Name] = true
			t.Columns = append(t.Columns, c)
		}
		return heads, nil
	}
	if w.err != nil {
		return nil, w.err
	}
	return nil, g.refuse(0, 0, "no rows", "a row of column headings")
}

// cells reads the rows below the heads.
func (t *Rows) cells(g *grid, w *walk, columns int) ([][]string, error) {
	var all [][]string
	for w.next() {
		if err := w.cut(); err != nil {
			return nil, err
		}
		if _, comment := w.below(columns); comment {
			continue
		}
		row := append([]string(nil), w.row.cells...)
		for len(row) > columns && row[len(row)-1] == "" {
			row = row[:len(row)-1]
		}
		if g.sheet != "" && len(row) < columns {
			row = append(row, make([]string, columns-len(row))...)
		}
		if len(row) != columns {
			return nil, g.refuse(w.row.line, 0, fmt.Sprintf("%d fields", len(row)),
				fmt.Sprintf("%d, one a column", columns))
		}
		if all = append(all, row); len(all)*columns > mostCells {
			return nil, g.refuse(w.row.line, 0, fmt.Sprintf("more than %d fields", mostCells), "a smaller table")
		}
		t.Lines = append(t.Lines, w.row.line)
	}
	if w.err != nil {
		return nil, w.err
	}
	if len(all) == 0 {
		return nil, g.refuse(0, 0, "nothing after the headings of the columns", "rows")
	}
	return all, nil
}

// mark finds the decimal mark of the numbers.
func (t *Rows) mark(g *grid, cells [][]string) (byte, error) {
	var d decimals
	for i, row := range cells {
		for j, f := range row {
			if strings.Trim(f, "0123456789+-.,eE") == "" {
				d.see(place{f, t.Lines[i], j + 1})
			}
		}
	}
	mark, at, found, want := d.mark(func(p *place) string { return placeOf(t.Sheet, p.line, p.column) })
	if at != nil {
		return 0, g.refuse(at.line, at.column, found, want)
	}
	return mark, nil
}

// fill reads column j.
func (t *Rows) fill(g *grid, cells [][]string, j int, mark byte) error {
	c := &t.Columns[j]
	known := parseHead(c.Name)
	named := known.Name != "" && known.kind.text // a unit, a lot
	hasUnit := c.Unit != (quantity.Unit{})
	numbers := make([]float64, len(cells))
	for i, row := range cells {
		f := row[j]
		if f == "" {
			numbers[i] = math.NaN()
			continue
		}
		v, err := parseAny(f, mark, hasUnit)
		if err != nil && hasUnit {
			return &Refusal{File: t.File.Name, Sheet: t.Sheet, Line: t.Lines[i], Column: j + 1, Head: c.Name,
				Found: quote(f),
				Want:  err.Error()}
		}
		if err != nil || named {
			numbers = nil
			break
		}
		numbers[i] = v
	}
	if c.Numbers = numbers; numbers != nil {
		return nil
	}
	for _, row := range cells {
		c.Texts = append(c.Texts, row[j])
	}
	return nil
}

// parseAny reads a number; without a unit one that begins with a needless zero is none.
func parseAny(f string, mark byte, hasUnit bool) (float64, error) {
	if mark == ',' {
		f = strings.Replace(f, ",", ".", 1)
	}
	if bare := strings.TrimLeft(f,
		"+-"); !hasUnit && len(bare) > 1 && bare[0] == '0' && bare[1] >= '0' && bare[1] <= '9' {
		return 0, errors.New("a number")
	}
	return parseNumber(f)
}
