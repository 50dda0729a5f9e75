package measured

import (
	"fmt"
	"strings"
)

// place is a field and where it stands.
type place struct {
	field        string
	line, column int
}

// decimals is what the numbers of a file say of its decimal mark. ISO 80000-1 knows the comma and the point
// and separates thousands by spaces alone; instruments and spreadsheets know all kinds, so a mark counts
// only where it cannot be one of thousands.
type decimals struct {
	comma, point *place // the first number in which the mark can only be a decimal one
	either       *place // the first in which a comma can be both: 1,550
	dotted       *place // the first with a point of any kind
}

// settled tells whether nothing that is still to come can change what the mark is: both kinds were seen.
func (d *decimals) settled() bool { return d.comma != nil && d.dotted != nil }

// see takes in one field of a column of numbers.
func (d *decimals) see(p place) {
	if d.settled() {
		return
	}
	number := strings.TrimLeft(p.field, "<>=≤≥ +-")
	commas, points := strings.Count(number, ","), strings.Count(number, ".")
	switch {
	case commas+points != 1 || number == "" || number[0] < '0' || number[0] > '9' || strings.ContainsAny(number, "' "):
		return // whole, a mark, or refused later
	case points == 1 && d.dotted == nil:
		d.dotted = &p
	}
	if points == 1 && d.point != nil {
		return
	}
	whole, part, _ := strings.Cut(strings.ReplaceAll(number, ".", ","), ",")
	grouped := len(part) == 3 && len(whole) <= 3 && whole[0] != '0' && digits(whole) && digits(part)
	var to **place
	switch {
	case points == 1 && !grouped:
		to = &d.point
	case commas == 1 && grouped:
		to = &d.either
	case commas == 1:
		to = &d.comma
	default:
		return
	}
	if *to == nil {
		*to = &p
	}
}

// mark decides which mark the file uses; where it cannot, it gives the field that stands against it.
func (d *decimals) mark(name func(*place) string) (mark byte, at *place, found, want string) {
	switch {
	case d.comma != nil && d.dotted != nil:
		at, other := d.dotted, d.comma
		if at.line < other.line || at.line == other.line && at.column < other.column {
			at, other = other, at
		}
		return 0, at, fmt.Sprintf("%q after %q on %s", at.field, other.field, name(other)),
			"one decimal mark in the whole file"
	case d.comma != nil:
		return ',', nil, "", ""
	case d.either != nil && d.point != nil:
		return 0, d.either, quote(d.either.field), "a number without marks between its thousands"
	case d.either != nil:
		plain := strings.Replace(d.either.field, ",", "", 1)
		return 0, d.either, quote(d.either.field) + ", which can be " + plain + " or " + strings.Replace(d.either.field,
				",", ".", 1),
			"a number that can be read in one way, such as " + plain + ",0 or " + strings.Replace(d.either.field, ",",
				".", 1)
	}
	return '.', nil, "", ""
}
