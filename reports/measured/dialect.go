package measured

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// separators are the marks between fields, in the order in which they are tried: a tab is never part of a
// field, a semicolon seldom, and a comma often.
var separators = []rune{'\t', ';', '|', ','}

// aligned stands for columns set under each other with spaces.
const aligned = ' '

// separator chooses the mark between fields: the first that parts the heads of the columns, found as the first line
// that has a field named like an axis or a reading, or the last comment of that kind above a row of numbers. A text
// without heads gets the mark of its first line, so that the refusal shows fields and not lines.
func (g *grid) separator(ctx context.Context) (rune, error) {
	var first, commented rune
	empty, seen := true, 0
	w := g.rowsFrom(ctx, walk{})
	for n := 0; n < mostNotes && seen < mostText && w.next(); n++ {
		line := strings.TrimSpace(w.row.text)
		seen += len(line)
		empty = false
		if text, ok := commentOf(line); ok {
			if sep := partedBy(text); sep != 0 {
				commented = sep
			}
			if sep := partedBy(line); sep == 0 || !numbered(line, sep) {
				continue
			}
		}
		for _, sep := range append(separators, aligned) {
			if fields := roughly(line, sep); len(fields) > 1 {
				if first == 0 {
					first = sep
				}
				if heads(fields) {
					return sep, w.err
				}
			}
		}
		if commented != 0 && beginsWithNumber(line) {
			return commented, w.err
		}
	}
	if w.err == nil && empty {
		w.err = &Refusal{File: g.file.Name, Found: "an empty file", Want: "a head of columns and rows of readings"}
	}
	if first == 0 {
		first = ','
	}
	return first, w.err
}

// beginsWithNumber tells whether a line is one of data, whatever parts its fields.
func beginsWithNumber(line string) bool {
	fields := strings.FieldsFunc(line, func(c rune) bool { return c == ' ' || slices.Contains(separators, c) })
	return len(fields) > 0 && numbers(fields[:1])
}

// partedBy returns the separator by which a line is the heads of columns, 0 for none.
func partedBy(line string) rune {
	for _, sep := range append(separators, aligned) {
		if heads(roughly(line, sep)) {
			return sep
		}
	}
	return 0
}

// numbered tells whether heads begin with a mark by itself: the head of a column of row numbers.
func numbered(line string, sep rune) bool {
	fields := roughly(line, sep)
	return len(fields) > 1 && fields[0] == "#"
}

// roughly parts a line, quotes ignored: enough to recognize heads.
func roughly(line string, sep rune) []string {
	if sep == aligned {
		return alignedHeads(line)
	}
	fields := strings.Split(line, string(sep))
	for i, f := range fields {
		fields[i] = strings.Trim(strings.TrimSpace(f), `"'`)
	}
	return fields
}

// columnsOf parts a line where two spaces or more stand; single ones are part of a field.
func columnsOf(line string) []string {
	var fields []string
	for _, f := range strings.Split(strings.TrimSpace(line), "  ") {
		if f = strings.TrimSpace(f); f != "" {
			fields = append(fields, f)
		}
	}
	return fields
}

// A head of aligned columns that are parted by single spaces ends where its unit does.
var headWithUnit = regexp.MustCompile(`[^\s\[\](){}][^\[\](){}]*(?:\([^()]*\))?[^\[\](){}]*(?:\[[^\]]*\]|\([^)]*\)|\{[^}]*\})`)

// alignedHeads parts a line of aligned heads: at two spaces or more, else behind the units, else at every space.
func alignedHeads(line string) []string {
	fields := columnsOf(line)
	if len(fields) > 1 && heads(fields) {
		return fields
	}
	for _, parts := range [][]string{headWithUnit.FindAllString(line, -1), strings.Fields(line)} {
		if strings.Join(strings.Fields(strings.Join(parts, "")), "") == strings.Join(strings.Fields(line), "") &&
			heads(parts) && allKnown(parts) {
			return parts
		}
	}
	return fields
}

// allKnown tells whether every field is the head of a known column.
func allKnown(fields []string) bool {
	return !slices.ContainsFunc(fields, func(f string) bool { return parseHead(f).Name == "" })
}

// heads tells whether fields are the heads of columns: one names an axis or a reading. The names unit, lot, condition
// and temperature occur as keys of metadata too and do not tell.
func heads(fields []string) bool {
	n := 0
	telling := false
	for _, f := range fields {
		if f == "" {
			continue
		}
		n++
		switch c := parseHead(f); c.Name {
		case "", UnitName, LotName, ConditionName, Temperature, Repeat:
		default:
			telling = true
		}
	}
	return telling && n > 1
}

// fields parts a line into its fields, appended to those given.
func (g *grid) fields(into []string, row gridRow) (cells []string, quoted bool, err error) {
	if g.sep == aligned {
		return append(into, alignedFields(row.text)...), strings.Contains(row.text, `"`), nil
	}
	rest := row.text
	for {
		if g.sep != '\t' { // else an empty field between tabs would be trimmed away
			rest = strings.TrimLeftFunc(rest, unicode.IsSpace)
		}
		var field string
		if strings.HasPrefix(rest, `"`) {
			quoted = true
			field, rest, err = g.quotedField(rest[1:], row.line, len(into)+1)
			if err != nil {
				return into, quoted, err
			}
		} else {
			end := strings.IndexRune(rest, g.sep)
			if end < 0 {
				end = len(rest)
			}
			if field, rest = rest[:end], rest[end:]; strings.Contains(field, `"`) {
				return into, true, g.refuse(row.line, 0, "a quote inside a field that is not quoted", wantQuotes)
			}
		}
		into = append(into, strings.TrimSpace(field))
		if len(into) > mostColumns {
			return into, quoted, g.refuse(row.line, len(into), "a field", fmt.Sprintf("at most %d columns",
				mostColumns))
		}
		if rest == "" {
			return into, quoted, nil
		}
		rest = rest[1:] // every separator is one byte
	}
}

const wantQuotes = "quotes around whole fields, doubled within them"

// quotedField reads a field up to its closing quote, and the spaces behind it; a quote within it is doubled.
func (g *grid) quotedField(text string, line, column int) (field, rest string, err error) {
	doubled := false
	for at := 0; ; {
		n := strings.IndexByte(text[at:], '"')
		if n < 0 {
			return "", "", g.open(line, column)
		}
		if at += n; strings.HasPrefix(text[at:], `""`) {
			doubled = true
			at += 2
			continue
		}
		if field, rest = text[:at], text[at+1:]; doubled {
			field = strings.ReplaceAll(field, `""`, `"`)
		}
		trimmed := strings.TrimLeft(rest, " ")
		if trimmed != "" && !strings.HasPrefix(trimmed, string(g.sep)) {
			return "", "", g.refuse(line, 0, "a quoted field that does not end where its quote ends", wantQuotes)
		}
		return field, trimmed, nil
	}
}

// open refuses a quote that its line does not close.
func (g *grid) open(line, column int) error {
	w := g.rowsFrom(context.Background(), walk{})
	for w.next() {
		if w.row.line > line && strings.Contains(w.row.text, `"`) {
			return g.refuse(line, column, "a quoted field that runs over the end of its line",
				"the closing quote on the same line")
		}
	}
	return g.refuse(line, 0, "a quoted field that does not end where its quote ends", wantQuotes)
}

// alignedFields parts a row of aligned columns: at any space when all its fields are numbers.
func alignedFields(line string) []string {
	fields := strings.Fields(line)
	for _, f := range fields {
		if strings.IndexFunc(f, unicode.IsDigit) < 0 && !notTaken[strings.ToLower(f)] {
			return alignedHeads(line)
		}
	}
	return fields
}
