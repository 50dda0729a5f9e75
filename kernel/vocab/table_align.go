package vocab

import (
	"strings"

	"wedgework/reports/document"
)

// mostPadded is how many decimals a column has at most in which zeros are added. A choice: more would claim digits.
const mostPadded = 3

// alignDecimals gives the numbers of each right-aligned column as many decimals as the one of them that has most, so
// that points stand below each other: 81 beside 81.4 is 81.0. A column of anything else, or of different units, stays.
func alignDecimals(t *document.Table) {
	for j, c := range t.Columns {
		if c.Align != document.Right {
			continue
		}
		most, unit, seen, alike := 0, "", false, true
		for _, row := range t.Rows {
			if row[j] == "" {
				continue
			}
			n, u, ok := pointOf(row[j])
			if !seen {
				unit, seen = u, true
			}
			alike = alike && ok && u == unit
			most = max(most, n)
		}
		if !alike || most == 0 || most > mostPadded {
			continue
		}
		for _, row := range t.Rows {
			n, u, ok := pointOf(row[j])
			if !ok || n == most {
				continue
			}
			number := strings.TrimSuffix(row[j], u)
			if n == 0 {
				number += "."
			}
			row[j] = number + strings.Repeat("0", most-n) + u
		}
	}
}

// pointOf tells how many decimals a number has, and its unit with the space before it. It is no number, or one with a
// power of ten, where ok is false.
func pointOf(text string) (n int, unit string, ok bool) {
	number, unit := text, ""
	if i := strings.IndexByte(text, ' '); i >= 0 {
		number, unit = text[:i], text[i:]
	}
	whole, fraction, _ := strings.Cut(strings.TrimPrefix(strings.TrimPrefix(number, "-"), "\u2212"), ".")
	digits := func(s string) bool { return strings.Trim(s, "0123456789") == "" }
	return len(fraction), unit, whole != "" && digits(whole) && digits(fraction)
}
