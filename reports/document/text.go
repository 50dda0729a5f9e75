package document

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// textWidth is where running text and table cells are wrapped, in characters: wide enough for a table of
// seven figures, narrow enough for a terminal and a notebook cell. A choice.
const textWidth = 100

// Text writes the whole document as plain text: title, identification, verdicts, then each section. It is
// what the goldens of the tests hold, and the same words that the PDF prints.
func (d Document) Text() string {
	var w textWriter
	w.line(d.Title)
	w.line(strings.Repeat("=", max(utf8.RuneCountInString(d.Title), 3)))
	if d.Subtitle != "" {
		w.line(d.Subtitle)
	}
	w.block(Fields{Rows: d.Identity})
	for _, v := range d.Verdicts {
		w.block(v)
	}
	for _, s := range d.Sections {
		w.block(Heading{Level: max(s.Level, 1), Text: s.Title})
		for _, b := range s.Blocks {
			w.block(s.below(b, 0))
		}
	}
	if d.Notice != "" {
		w.gap()
		w.wrap("", "", d.Notice)
	}
	return w.b.String()
}

// Text writes blocks as plain text, each parted from the next by an empty line. A single line of text has
// no line feed at its end, so that the plain form of a cell's result reads as a value would.
func Text(blocks []Block) string {
	var w textWriter
	for _, b := range blocks {
		w.block(b)
	}
	return strings.TrimSuffix(w.b.String(), "\n")
}

type textWriter struct {
	b      strings.Builder
	indent string
	first  string // replaces indent on the next line: the mark of a list item
	tight  bool   // the next block follows without an empty line
}

func (w *textWriter) gap() {
	if w.b.Len() > 0 && !w.tight {
		w.b.WriteByte('\n')
	}
	w.tight = false
}

func (w *textWriter) line(s string) {
	lead := w.indent
	if w.first != "" {
		lead, w.first = w.first, ""
	}
	w.b.WriteString(strings.TrimRight(lead+s, " "))
	w.b.WriteByte('\n')
}

// wrap writes running text broken at textWidth, with lead before the first line and rest before the others.
func (w *textWriter) wrap(lead, rest, s string) {
	for i, para := range strings.Split(s, "\n") {
		for j, l := range wrapWords(para, textWidth-max(utf8.RuneCountInString(w.indent+lead),
			utf8.RuneCountInString(w.indent+rest))) {
			if i == 0 && j == 0 {
				w.line(lead + l)
			} else {
				w.line(rest + l)
			}
		}
	}
}

func (w *textWriter) block(b Block) {
	if f, ok := b.(Fields); ok && len(f.Rows) == 0 && f.Caption == "" {
		return
	}
	w.gap()
	switch b := b.(type) {
	case Heading:
		w.line(b.Text)
		w.line(strings.Repeat(headingRule(b.Level), max(utf8.RuneCountInString(b.Text), 3)))
		w.tight = false
	case Paragraph:
		lead := ""
		if b.Displayed {
			lead = "    "
		}
		w.wrap(lead, lead, PlainText(b.Spans))
	case List:
		w.list(b)
	case Quote:
		outer := w.indent
		w.indent, w.tight = outer+"> ", true
		for _, x := range b.Blocks {
			w.block(x)
		}
		w.indent, w.tight = outer, false
	case Code:
		for _, l := range strings.Split(strings.TrimRight(b.Text, "\n"), "\n") {
			w.line("    " + l)
		}
	case Table:
		w.table(b)
	case Figure:
		w.wrap("[figure] ", "    ", b.Caption)
		if b.Text != "" {
			w.wrap("    ", "    ", b.Text)
		}
	case Fields:
		w.fields(b)
	case Verdict:
		w.wrap(fmt.Sprintf("[%s %s] ", b.Outcome.Mark(), b.Outcome), "    ", b.Subject+": "+b.Sentence)
	case Caution:
		w.wrap("Caution: ", "    ", b.Text)
	case Rule:
		w.line(strings.Repeat("-", 20))
	case Signatures:
		if len(b.Disposition) > 0 {
			w.block(Plain("Disposition: [ ] " + strings.Join(b.Disposition, "  [ ] ")))
		}
		t := Table{Columns: []Column{{Head: "Role"}, {Head: "Name"}, {Head: "Date"}, {Head: "Signature"}}}
		for _, r := range b.Rows {
			t.Rows = append(t.Rows, []string{r.Role, r.Name, r.Date, ""})
		}
		w.table(t)
	}
}

func headingRule(level int) string {
	if level <= 1 {
		return "-"
	}
	return "."
}

func (w *textWriter) list(l List) {
	outer := w.indent
	for i, item := range l.Items {
		mark := "- "
		if l.Ordered {
			mark = fmt.Sprintf("%d. ", l.Number(i))
		}
		w.indent = outer + strings.Repeat(" ", len(mark))
		w.first = outer + mark
		w.tight = true
		for _, b := range item {
			w.block(b)
		}
		if w.first != "" { // an empty item still shows its mark
			w.line("")
		}
	}
	w.indent, w.tight = outer, false
}

func (w *textWriter) fields(f Fields) {
	if f.Caption != "" {
		w.line(f.Caption)
	}
	wide := 0
	for _, r := range f.Rows {
		wide = max(wide, utf8.RuneCountInString(r.Name))
	}
	for _, r := range f.Rows {
		lead := r.Name + strings.Repeat(" ", wide-utf8.RuneCountInString(r.Name)+2)
		w.wrap(lead, strings.Repeat(" ", wide+2), r.Value)
	}
}

// wrapWords breaks s at spaces so that no line is longer than width characters. A word that is longer
// stands alone on its line, whole: text is searched and copied, and a hash cut in two is of no use.
func wrapWords(s string, width int) []string {
	words := strings.Fields(s)
	if len(words) == 0 {
		return []string{""}
	}
	var lines []string
	line, n := words[0], utf8.RuneCountInString(words[0])
	for _, word := range words[1:] {
		k := utf8.RuneCountInString(word)
		if n+1+k > width {
			lines = append(lines, line)
			line, n = word, k
			continue
		}
		line, n = line+" "+word, n+1+k
	}
	return append(lines, line)
}
