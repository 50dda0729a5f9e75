package measured

import (
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"unicode"
)

// separators are the marks between fields, in the order in which they are tried: a tab is never part of a
// field, a semicolon seldom, and a comma often.
var separators = []rune{'\t', ';', '|', ','}

// aligned stands for columns set under each other with spaces.
const aligned = ' '

// separatorOf chooses the mark between fields: the first that parts the head of the columns, found as the
// first line that has a field named like an axis or a reading. A text without a head gets the mark of its
// first line, so that the refusal shows fields and not lines.
func separatorOf(lines []string) rune {
	first := rune(0)
	for _, line := range lines {
		if _, ok := commentOf(strings.TrimSpace(line)); ok || strings.TrimSpace(line) == "" {
			continue
		}
		for _, sep := range append(separators, aligned) {
			fields := roughly(line, sep)
			if len(fields) < 2 {
				continue
			}
			if first == 0 {
				first = sep
			}
			if heads(fields) {
				return sep
			}
		}
	}
	if first == 0 {
		return ','
	}
	return first
}

// roughly parts a line, quotes ignored: enough to recognize a head.
func roughly(line string, sep rune) []string {
	if sep == aligned {
		return columnsOf(line)
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

// heads tells whether fields are the heads of columns: one names an axis or a reading. The names unit, lot
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
		case "", UnitName, LotName, Temperature, Repeat:
		default:
			telling = true
		}
	}
	return telling && n > 1
}

// cut parts a text into rows of cells. encoding/csv does the quoting; what it does not know (comment marks
// of several kinds, columns set with spaces) is taken out of its way first.
func cut(f File, text string) (*grid, error) {
	g := &grid{file: f}
	all := strings.Split(text, "\n")
	sep := separatorOf(all)
	for i, line := range all {
		trimmed := strings.TrimSpace(line)
		if comment, ok := commentOf(trimmed); ok {
			g.rows = append(g.rows, gridRow{line: i + 1, comment: comment, remark: true})
			all[i] = ""
		} else if trimmed == "" {
			all[i] = "" // a line of spaces
		} else if sep == aligned {
			g.rows = append(g.rows, gridRow{line: i + 1, cells: alignedFields(line)})
		}
	}
	if sep == aligned {
		return g, nil
	}
	return g, g.records(strings.Join(all, "\n"), sep)
}

// alignedFields parts a row of aligned columns: at any space when all its fields are numbers.
func alignedFields(line string) []string {
	fields := strings.Fields(line)
	for _, f := range fields {
		if strings.IndexFunc(f, unicode.IsDigit) < 0 {
			return columnsOf(line)
		}
	}
	return fields
}

// records reads the rows of a text whose comment lines have been blanked.
func (g *grid) records(text string, sep rune) error {
	in := csv.NewReader(strings.NewReader(text))
	in.Comma = sep
	in.FieldsPerRecord = -1
	in.TrimLeadingSpace = sep != '\t' // else an empty field between tabs would be trimmed away
	comments := g.rows
	g.rows = make([]gridRow, 0, len(comments)+strings.Count(text, "\n"))
	for {
		fields, err := in.Read()
		if err == io.EOF {
			g.rows = append(g.rows, comments...)
			return nil
		}
		if err != nil {
			return g.quoting(err)
		}
		line, _ := in.FieldPos(0)
		blank := true
		for i, f := range fields {
			if strings.Contains(f, "\n") {
				return g.refuse(line, i+1, "a quoted field that runs over the end of its line", "the closing quote on the same line")
			}
			fields[i] = strings.TrimSpace(f)
			blank = blank && fields[i] == ""
		}
		for len(comments) > 0 && comments[0].line < line {
			g.rows = append(g.rows, comments[0])
			comments = comments[1:]
		}
		if comment, ok := commentOf(fields[0]); ok { // a comment line in quotes, as spreadsheets write it
			rest := strings.TrimSpace(strings.Join(fields[1:], " "))
			g.rows = append(g.rows, gridRow{line: line, comment: strings.TrimSpace(comment + " " + rest), remark: true})
		} else if !blank {
			g.rows = append(g.rows, gridRow{line: line, cells: fields})
		}
	}
}

func (g *grid) quoting(err error) error {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		return err
	}
	found := "a quote inside a field that is not quoted"
	if errors.Is(p.Err, csv.ErrQuote) {
		found = "a quoted field that does not end where its quote ends"
	}
	return g.refuse(p.StartLine, 0, found, "quotes around whole fields, doubled within them")
}
