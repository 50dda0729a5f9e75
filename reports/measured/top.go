package measured

import (
	"slices"
	"strings"
)

// top reads what stands above the data: comments, metadata and the heads. It returns where the data begin.
func (r *reader) top() (walk, error) {
	var c commented
	w := r.grid.rowsFrom(r.ctx, walk{})
	before, any := *w, false
	for ; w.next(); before = *w {
		if text, ok := w.above(); ok && !r.indexed(w) {
			c.see(r, w.row.line, text)
			if err := r.comment(w.row, text, false); err != nil {
				return walk{}, err
			}
			continue
		}
		any = true
		if err := w.cut(); err != nil {
			return walk{}, err
		}
		switch {
		case heads(w.row.cells) || r.onlyNames(w.row.cells):
			return r.headed(w)
		case c.heads != nil && numbers(w.row.cells[:1]):
			return before, c.take(r)
		}
		if err := r.preamble(w.row); err != nil {
			return walk{}, err
		}
	}
	switch {
	case w.err != nil:
		return walk{}, w.err
	case any:
		return walk{}, r.refuse(0, 0, "no row with the heads of the columns",
			"heads such as wavelength [nm], isolation [dB] above the readings")
	}
	return walk{}, r.refuse(0, 0, "comment lines only", "a head of columns and rows of readings")
}

// headed reads the heads that a walk has come to, and the units below them.
func (r *reader) headed(w *walk) (walk, error) {
	row := w.row
	row.cells = slices.Clone(row.cells)
	data := *w
	var units []string
	if w.next() {
		if _, comment := w.above(); !comment && w.cut() == nil {
			units = w.row.cells
		}
	}
	if w.err != nil {
		return walk{}, w.err
	}
	used, err := r.head(row, units)
	r.row = row.line
	if used {
		data = *w
	}
	return data, err
}

// indexed tells whether a row is heads of which the first is a number sign by itself, over a column of row numbers.
func (r *reader) indexed(w *walk) bool {
	if !strings.HasPrefix(strings.TrimSpace(w.row.text), "#") && r.grid.sheet == "" || w.cut() != nil {
		return false
	}
	return w.row.cells[0] == "#" && heads(w.row.cells)
}

// onlyNames tells whether a row that holds no axis and no reading is the heads all the same, so that it is
// refused for what it lacks: three or more names, one of them known.
func (r *reader) onlyNames(cells []string) bool {
	if triple(cells) {
		return false
	}
	n, known := 0, false
	for _, c := range cells {
		if c != "" {
			n++
			known = known || parseHead(c).Name != ""
		}
	}
	return n > 2 && known
}

// commented is heads that stand in a comment, as some programs write them, and their units in the comment below.
type commented struct {
	heads, units []string
	line         int
	remark       int // how many remarks and metadata lines there were before
	meta         int
}

// see looks at a comment above the data.
func (c *commented) see(r *reader, line int, text string) {
	sep := r.grid.sep
	fields := roughly(text, sep)
	switch {
	case heads(fields):
		*c = commented{heads: fields, line: line, remark: len(r.Remarks), meta: len(r.Meta)}
	case c.heads != nil && c.units == nil && len(fields) == len(c.heads) && onlyUnits(fields):
		c.units = fields
	}
}

// take makes the comment the heads, and no remark any more.
func (c *commented) take(r *reader) error {
	lines := 1
	if _, err := r.head(gridRow{line: c.line, cells: c.heads}, c.units); err != nil {
		return err
	}
	if c.units != nil {
		lines = 2
	}
	r.row = c.line
	r.Meta = slices.DeleteFunc(r.Meta, func(kv KeyValue) bool { return kv.Line >= c.line && kv.Line < c.line+lines })
	r.Remarks = slices.DeleteFunc(r.Remarks, func(m Remark) bool { return m.Line >= c.line && m.Line < c.line+lines })
	return nil
}

// onlyUnits tells whether fields are units of measurement and nothing else.
func onlyUnits(fields []string) bool {
	some := false
	for _, f := range fields {
		if f = bare(f); f == "" || f == "-" {
			continue
		}
		if _, ok := lookUp(f); !ok {
			return false
		}
		some = true
	}
	return some
}
