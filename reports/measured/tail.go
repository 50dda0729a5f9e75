package measured

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// tail watches how the last column is written, so that a last line that was cut off shows: its field is then shorter
// than all the others, which are written alike.
type tail struct {
	rows, filled int
	shape        shape // of all rows but the last, as long as they are alike
	alike        bool
	open         bool   // some row but the last ends in a decimal mark
	last         string // the field of the last row
	line         int
	before       string // the field of the row before it
}

// shape is how many digits follow the decimal mark and the exponent sign of a number.
type shape struct{ decimals, exponent int }

func shapeOf(field string) shape {
	mantissa, exponent := field, ""
	if i := strings.IndexAny(field, "eE"); i >= 0 {
		mantissa, exponent = field[:i], strings.TrimLeft(field[i+1:], "+-")
	}
	s := shape{exponent: len(exponent)}
	if i := strings.IndexAny(mantissa, ".,"); i >= 0 {
		s.decimals = len(mantissa) - i - 1
	}
	return s
}

// lastDigit is what a number changes by when its last digit does by one; infinite for no number.
func lastDigit(field string) float64 {
	if field == "" {
		return math.Inf(1)
	}
	mantissa, exponent := field, 0
	if i := strings.IndexAny(field, "eE"); i >= 0 {
		mantissa = field[:i]
		exponent, _ = strconv.Atoi(strings.TrimPrefix(field[i+1:], "+"))
	}
	if strings.IndexFunc(mantissa, isDigit) < 0 {
		return math.Inf(1)
	}
	decimals := 0
	if i := strings.IndexByte(mantissa, '.'); i >= 0 {
		decimals = len(mantissa) - i - 1
	}
	return math.Pow10(exponent - decimals)
}

// see takes the row that was read last.
func (t *tail) see(row gridRow, columns []column) {
	if n := len(columns); len(row.cells) >= n {
		t.take(row.cells[n-1], row.line)
	} else { // a workbook stores no empty cells at the end of a row
		t.take("", row.line)
	}
}

func (t *tail) take(field string, line int) {
	if t.rows > 0 && t.last != "" {
		if s := shapeOf(t.last); t.filled == 0 {
			t.shape, t.alike = s, true
		} else {
			t.alike = t.alike && s == t.shape
		}
		t.filled++
		t.open = t.open || bareMark(t.last)
	}
	t.rows++
	t.before, t.last, t.line = t.last, field, line // of the text of the file, which is held in any case
}

func bareMark(field string) bool {
	return strings.HasSuffix(field, ".") || strings.HasSuffix(field, ",")
}

// whole refuses a file whose last line is cut off. Where no line end follows it, a number with fewer digits than all
// others, or the beginning of the name above it, is taken for the rest of one; a decimal mark without a digit behind it
// is so in any case, unless other numbers are written that way.
func (r *reader) whole(t *tail) error {
	if r.grid.sheet != "" || t.last == "" {
		return nil
	}
	c := &r.columns[len(r.columns)-1]
	cut := false
	switch {
	case c.Name == "" || c.kind.text:
		cut = !r.grid.ended() && t.last != t.before && strings.HasPrefix(t.before, t.last)
	case bareMark(t.last):
		cut = !t.open
	case t.filled > 0 && t.alike && !r.grid.ended():
		s := shapeOf(t.last)
		cut = s.decimals < t.shape.decimals || s.exponent < t.shape.exponent
	}
	if !cut {
		return nil
	}
	return r.refuse(t.line, len(r.columns), quote(t.last)+" at the end of the file, which looks cut off",
		"the whole number, and a line end behind it")
}

// ended tells whether the text ends with a line end.
func (g *grid) ended() bool {
	return slices.Contains([]string{"\n", "\r"}, g.text[len(g.text)-1:])
}
