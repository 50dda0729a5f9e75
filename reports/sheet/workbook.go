package sheet

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"
	"sync"
	"unicode/utf16"
	"unicode/utf8"
)

// A workbook is a zip archive of XML parts (ISO/IEC 29500-1, SpreadsheetML; ISO/IEC 29500-2, packages). This one has
// what lists the parts, the workbook, one plain style, the sheets, and nothing else. Every text is written in its cell.
// The library that reads workbooks could write them too, but its writer alone makes the program a seventh larger: it
// copies values by the names of their methods, and so the linker must keep every method of the program.
const (
	spreadsheet   = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	relationships = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	packages      = "http://schemas.openxmlformats.org/package/2006/"
	contentOf     = "application/vnd.openxmlformats-officedocument.spreadsheetml."
)

// longestText is how many UTF-16 code units a cell holds.
const longestText = 32767

// Workbook writes tables as the sheets of a workbook. Numbers are numbers, and a text is a text whatever it begins
// with. NaN and infinities are empty cells. A text that no cell can hold is an error.
func Workbook(tables []Table) ([]byte, error) {
	fields := 0
	names := map[string]bool{}
	sheets := make([]string, len(tables))
	for i, t := range tables {
		if err := t.check(); err != nil {
			return nil, err
		}
		if fields += t.Columns[0].rows() * len(t.Columns); fields > mostFields {
			return nil, fmt.Errorf("the tables have more than the limit of %d fields", mostFields)
		}
		sheets[i] = sheetName(t.Name, i, names)
	}
	if len(tables) == 0 {
		return nil, fmt.Errorf("a workbook needs at least one table")
	}
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, p := range frame(sheets) {
		w, err := z.Create(p.name)
		if err == nil {
			_, err = io.WriteString(w, p.text)
		}
		if err != nil {
			return nil, err
		}
	}
	for i, t := range tables {
		w, err := z.Create(sheetPart(i))
		if err == nil {
			err = t.fill(w)
		}
		if err != nil {
			return nil, fmt.Errorf("sheet %q: %w", sheets[i], err)
		}
	}
	err := z.Close()
	return b.Bytes(), err
}

// part is one of a package.
type part struct{ name, text string }

func sheetPart(i int) string { return fmt.Sprintf("xl/worksheets/sheet%d.xml", i+1) }

// frame is a workbook without its sheets.
func frame(sheets []string) []part {
	var types, refers, lists strings.Builder
	for i, name := range sheets {
		fmt.Fprintf(&types, `<Override PartName="/%s" ContentType="%sworksheet+xml"/>`, sheetPart(i), contentOf)
		fmt.Fprintf(&refers, `<Relationship Id="rId%d" Type="%s/worksheet" Target="/%s"/>`, i+1, relationships,
			sheetPart(i))
		fmt.Fprintf(&lists, `<sheet name="%s" sheetId="%d" r:id="rId%d"/>`, escaped(name), i+1, i+1)
	}
	return []part{
		{"[Content_Types].xml", xml.Header + `<Types xmlns="` + packages + `content-types">` +
			`<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>` +
			`<Override PartName="/xl/workbook.xml" ContentType="` + contentOf +
			`sheet.main+xml"/><Override PartName="/xl/styles.xml" ContentType="` +
			contentOf + `styles+xml"/>` + types.String() + `</Types>`},
		{"_rels/.rels", xml.Header + `<Relationships xmlns="` + packages + `relationships">` +
			`<Relationship Id="rId1" Type="` + relationships + `/officeDocument" Target="/xl/workbook.xml"/>` +
			`</Relationships>`},
		{"xl/workbook.xml", xml.Header + `<workbook xmlns="` + spreadsheet + `" xmlns:r="` + relationships +
			`"><sheets>` + lists.String() + `</sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", xml.Header + `<Relationships xmlns="` + packages + `relationships">` +
			`<Relationship Id="rId0" Type="` + relationships + `/styles" Target="/xl/styles.xml"/>` + refers.String() +
			`</Relationships>`},
		{"xl/styles.xml", xml.Header + `<styleSheet xmlns="` + spreadsheet + `"><fonts count="1"><font/></fonts>` +
			`<fills count="1"><fill><patternFill/></fill></fills><borders count="1"><border/></borders>` +
			`<cellStyleXfs count="1"><xf/></cellStyleXfs><cellXfs count="1"><xf/></cellXfs></styleSheet>`},
	}
}

// fill writes the rows of a sheet, the heads first.
func (t Table) fill(out io.Writer) error {
	w := &errorWriter{to: out}
	w.print(xml.Header + `<worksheet xmlns="` + spreadsheet + `"><sheetData>`)
	for i := range t.Columns[0].rows() + 1 {
		fmt.Fprintf(w, `<row r="%d">`, i+1)
		for j, c := range t.Columns {
			at := fmt.Sprintf("%s%d", column(j), i+1)
			text := c.Head
			switch {
			case i > 0 && c.Numbers == nil:
				text = c.Texts[i-1]
			case i > 0:
				if v := c.Numbers[i-1]; !math.IsNaN(v) && !math.IsInf(v, 0) {
					fmt.Fprintf(w, `<c r="%s"><v>%s</v></c>`, at, number(v))
				}
				continue
			}
			if n := len(utf16.Encode([]rune(text))); n > longestText {
				return fmt.Errorf("cell %s: a text of %d characters, and a cell holds %d", at, n, longestText)
			}
			fmt.Fprintf(w, `<c r="%s" t="inlineStr"><is><t xml:space="preserve">%s</t></is></c>`, at, escaped(text))
		}
		w.print(`</row>`)
	}
	w.print(`</sheetData></worksheet>`)
	return w.err
}

// errorWriter keeps the first error.
type errorWriter struct {
	to  io.Writer
	err error
}

func (w *errorWriter) Write(p []byte) (int, error) {
	if w.err == nil {
		_, w.err = w.to.Write(p)
	}
	return len(p), w.err
}

func (w *errorWriter) print(s string) { _, _ = io.WriteString(w, s) }

// column is the name of column j, from 0: A to Z, AA to ZZ, AAA and on.
func column(j int) string {
	name := ""
	for j++; j > 0; j = (j - 1) / 26 {
		name = string(rune('A'+(j-1)%26)) + name
	}
	return name
}

// byNumber is what a program that reads a text takes for a character written by its number (ISO/IEC 29500-1,
// 22.9.2.19, ST_Xstring).
var byNumber = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\A_x[0-9A-Fa-f]{4}_`) })

// escaped writes a text as XML holds it. Characters that XML cannot hold are written by their numbers, and so is an
// underscore with which what follows would read like one of these.
func escaped(text string) string {
	var b strings.Builder
	for i, r := range text {
		switch {
		case r == '_' && byNumber().MatchString(text[i:]),
			r == '\r' || r < ' ' && r != '\t' && r != '\n' || r == 0xFFFE || r == 0xFFFF:
			fmt.Fprintf(&b, "_x%04X_", r)
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"':
			b.WriteString("&quot;")
		default:
			b.WriteRune(r) // the replacement character for bytes that are no letter
		}
	}
	return b.String()
}

// sheetName makes a name that a workbook can have and has not yet: at most 31 characters, none of []:*?/\.
func sheetName(name string, i int, taken map[string]bool) string {
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`[]:*?/\`, r) || r < ' ' {
			return '-'
		}
		return r
	}, name)
	name = strings.Trim(name, "' ")
	const most = 31
	for utf8.RuneCountInString(name) > most {
		_, size := utf8.DecodeLastRuneInString(name)
		name = name[:len(name)-size]
	}
	if lower := strings.ToLower(name); name == "" || taken[lower] || lower == "history" {
		name = fmt.Sprintf("Sheet %d", i+1)
	}
	taken[strings.ToLower(name)] = true
	return name
}
