package measured

import (
	"archive/zip"
	"encoding/xml"
	"fmt"
	"slices"
	"strings"
)

// mergedRange is cells of a sheet under one value, which stands in the first of them.
type mergedRange struct {
	text                     string // "B2:B5"
	left, top, right, bottom int
}

func (m mergedRange) holds(column, row int) bool {
	return m.left <= column && column <= m.right && m.top <= row && row <= m.bottom
}

// covered tells whether a cell lies in a merged range and is not its first.
func (g *grid) covered(column, row int) bool {
	return slices.ContainsFunc(g.merged, func(m mergedRange) bool {
		return m.holds(column, row) && (column != m.left || row != m.top)
	})
}

// shown refuses readings under a merged cell, for which rows the one value is meant cannot be told, and notes readings
// that the sheet hides: they are read like the others, but whoever looks at the sheet does not see them.
func (r *reader) shown(from walk) error {
	for _, m := range r.grid.merged {
		for i := range r.columns {
			if c := &r.columns[i]; c.Name == "" || i+1 < m.left || i+1 > m.right || m.bottom <= r.row {
				continue
			}
			return r.refuse(max(m.top, r.row+1), i+1, "the merged cells "+m.text, "a value in each cell")
		}
	}
	var hidden []string
	if r.grid.sheet == "" {
		return nil
	}
	for _, row := range r.grid.rows[from.at:] {
		if row.hidden {
			hidden = append(hidden, fmt.Sprint(row.line))
		}
	}
	if n := len(hidden); n > 0 {
		if n > 5 {
			hidden = append(hidden[:4:4], "… "+hidden[n-1])
		}
		r.warn("hidden rows of sheet %s of %s are read like the others: %d in all, %s", r.Sheet, r.File.Name, n,
			strings.Join(hidden, ", "))
	}
	for i, is := range r.grid.hidden {
		if is && i < len(r.columns) && r.columns[i].Name != "" {
			r.warn("column %s of sheet %s of %s, %s, is hidden and read like the others", letters(i+1), r.Sheet,
				r.File.Name, r.columns[i].Head)
		}
	}
	return nil
}

// orphaned tells whether a sheet has a formula that it shares with a cell which is not there. The library would look
// for that cell through the whole sheet, each time anew.
func orphaned(part *zip.File) bool {
	in, err := part.Open()
	if err != nil {
		return false // refused when the library opens it
	}
	defer in.Close()
	defined, used := map[string]bool{}, map[string]bool{}
	for d := xml.NewDecoder(in); ; {
		token, err := d.RawToken()
		if err != nil {
			break
		}
		element, ok := token.(xml.StartElement)
		if !ok || element.Name.Local != "f" {
			continue
		}
		at := map[string]string{}
		for _, a := range element.Attr {
			at[a.Name.Local] = a.Value
		}
		if at["t"] != "shared" {
			continue
		}
		used[at["si"]] = true
		defined[at["si"]] = defined[at["si"]] || at["ref"] != ""
	}
	for si := range used {
		if !defined[si] {
			return true
		}
	}
	return false
}
