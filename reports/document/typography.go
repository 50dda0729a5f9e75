package document

import (
	"regexp"
	"strings"
)

// minus is the sign of a negative number in print.
const minus = "\u2212"

// hyphen finds a hyphen that stands for a minus sign: before a number or a one-letter symbol, after a space, an
// opening or a sign.
var hyphen = regexp.MustCompile(`(^|[\s(=±])-(\d|[A-Za-z]\b)`)

// notation is what sentences carry in plain characters and a page has in print. The name of the normalized error
// is set without its stroke, for the face has no subscript n.
var notation = strings.NewReplacer("E_n", "En", "chi-squared", "χ²")

// typed finds a number before a unit as it is typed in a cell.
var typed = regexp.MustCompile(`(\d) (um|deg)([\s,;:.)\]]|$)`)

// units sets units that are typed in plain characters as they are printed: 180 µm, 45°.
func units(s string) string {
	if !strings.Contains(s, " um") && !strings.Contains(s, " deg") {
		return s
	}
	return typed.ReplaceAllStringFunc(s, func(m string) string {
		return strings.NewReplacer(" um", " µm", " deg", "°").Replace(m)
	})
}

// Sentence puts a sentence as a page has it: minus signs, units, a capital unless it begins with a name of the
// notebook's, a full stop.
func Sentence(s string) string {
	s = units(Brief(Signs(strings.TrimSpace(s))))
	if s == "" {
		return s
	}
	first, _, _ := strings.Cut(s, " ")
	if !strings.ContainsAny(first, "._") {
		s = Capital(s)
	}
	if !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}

// span finds a range whose unit is written twice.
var span = regexp.MustCompile(`(\S+) (nm|°C) to (\S+) (nm|°C)`)

// measure finds a number before its unit.
var measure = regexp.MustCompile(`(\d) (°C|%|nm|µm|mm|m|dBm?|ps|K|kelvin|mW|W)([\s,;:.)\]]|$)`)

// Unbroken keeps numbers with their units where lines are broken.
func Unbroken(s string) string { return measure.ReplaceAllString(s, "$1\u00a0$2$3") }

// Sentences is Sentence for clauses joined by semicolons that are too long for one sentence.
func Sentences(s string) string {
	clauses := strings.Split(s, "; ")
	for i, c := range clauses {
		clauses[i] = Sentence(c)
	}
	return strings.Join(clauses, " ")
}

// Brief writes conditions in fewer letters, for a table: "1535 to 1565 nm, 23 °C".
func Brief(s string) string { return span.ReplaceAllString(s, "$1 to $3 $4") }

// Signs sets minus signs and symbols and nothing else: what a table cell needs.
func Signs(s string) string {
	if !strings.Contains(s, "-") {
		return notation.Replace(s)
	}
	return notation.Replace(hyphen.ReplaceAllString(s, "${1}"+minus+"${2}"))
}

// negative finds the hyphen of a negative number, and not that of a date or a name.
var negative = regexp.MustCompile(`(^|[\s(=±])-(\.?\d)`)

// Numbers sets the minus signs of negative numbers in a text that may be anybody's, and nothing else.
func Numbers(s string) string {
	if !strings.Contains(s, "-") {
		return s
	}
	return negative.ReplaceAllString(s, "${1}"+minus+"${2}")
}

// Keyboard is text with the minus sign of the keyboard: of plain text, which is copied into cells and other programs.
func Keyboard(s string) string { return strings.ReplaceAll(s, minus, "-") }

// Capital gives a text that begins with a plain letter a capital.
func Capital(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
