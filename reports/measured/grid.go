package measured

import (
	"strings"
)

// grid is a file of readings as cells, before anything is known of their meaning.
type grid struct {
	file    File
	sheet   string // of a workbook
	rows    []gridRow
	ragged  bool // rows may end early: a workbook stores no empty cells at their end
	merged  []mergedRange
	hidden  []bool // by column of a sheet
	warning string
}

// gridRow is a row that is not blank: cells, or a comment.
type gridRow struct {
	line    int // counted from 1; the row of a sheet
	cells   []string
	comment string
	remark  bool // the row is a comment
	hidden  bool // a row of a sheet that is not shown
}

// marks begin a comment line: the number sign of our own files and of most scripts, the percent sign, the
// exclamation mark and the double slash of others.
var marks = []string{"#", "%", "!", "//"}

// commentOf returns the text of a comment line.
func commentOf(line string) (string, bool) {
	for _, m := range marks {
		if rest, ok := strings.CutPrefix(line, m); ok {
			return strings.TrimSpace(strings.TrimLeft(rest, m)), true
		}
	}
	return "", false
}

// gridOf parts a file into cells: a workbook by its cells, a text by its dialect.
func gridOf(f File, sheet string) (*grid, error) {
	if isArchive(f.Data) {
		return workbook(f, sheet)
	}
	if problem := foreign(f.Data); problem != "" {
		return nil, &Refusal{File: f.Name, Found: problem, Want: wantText}
	}
	if sheet != "" {
		return nil, &Refusal{File: f.Name, Found: "a text file, which has no sheets", Want: "no sheet to be named, or an .xlsx workbook"}
	}
	text, warning, err := decode(f)
	if err != nil {
		return nil, err
	}
	if strings.TrimSpace(text) == "" {
		return nil, &Refusal{File: f.Name, Found: "an empty file", Want: "a head of columns and rows of readings"}
	}
	g, err := cut(f, text)
	if err != nil {
		return nil, err
	}
	g.warning = warning
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
