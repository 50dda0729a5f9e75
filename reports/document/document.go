// Package document is the model that everything shown to a person goes through. A table, a figure or a
// verdict is built once, as a plain value of this package; the notebook shows it as HTML and text, the
// text goldens of the tests as text, and reports/pdf as a page.
//
// A document knows nothing of optics. It holds what is to be read, already worded, rounded and in order;
// how it looks is the business of what renders it.
package document

import (
	"strings"
	"unicode"

	"gonum.org/v1/plot/vg"
)

// Document is a whole report.
//
// What tells a page that was torn out where it belongs stands on every page: Number, Revision, Covers, Report and
// Digest, each of which may be empty. The first page shows Identity, so what a reader is to find there is listed there
// too.
type Document struct {
	Title    string
	Subtitle string
	Number   string    // of what is reported on, as a part number
	Revision string    // as "B"
	Covers   string    // what is reported on: "unit 0418"
	Report   string    // number of the report
	Digest   string    // beginning of the SHA-256 of its record
	DigestOf string    // what the digest is of, where it is not the record
	Code     string    // for machines: a QR code on the first page holds it; none where it is empty
	Identity []Field   // part, revision, change record, unit, lot, ... in reading order
	Verdicts []Verdict // shown on the first page
	Sections []Section
	Notice   string // printed at the foot of every page, for example that the data is invented
}

// Section is a titled part of a report; Level 1 starts a bookmark at the top of the outline. One that stands
// Together is not begun on a page that has no room for all of it, if one page has.
type Section struct {
	Title    string
	Level    int
	Together bool
	Blocks   []Block

	// Shorter says the same with less before its signatures, and may say so too: of the first section that has one,
	// pages show the longest whose signatures stand on the first page. Other readers have no pages, and leave it out.
	Shorter *Section
}

// Field is one row of an identification block.
type Field struct{ Name, Value string }

// Block is anything that stands in the flow of a page: Heading, Paragraph, List, Code, Table, Figure,
// Fields, Quote, Verdict, Caution, Rule or Signatures.
type Block interface{ block() }

// Heading is a heading inside a section, from a notebook's Markdown; Level counts from 1.
type Heading struct {
	Level int
	Text  string
}

// Style is how a span of text is set.
type Style uint8

// Styles combine.
const (
	Bold Style = 1 << iota
	Italic
	Mono
	Sub   // below the line, smaller
	Super // above it
)

// Span is a run of text in one style; Link, when not empty, is where it leads. Each span of a formula holds all of the
// formula as plain text, which is read aloud in its place.
type Span struct {
	Text    string
	Style   Style
	Link    string
	Formula string
}

// Paragraph is running text; a Displayed one is a formula on a line of its own.
type Paragraph struct {
	Spans     []Span
	Displayed bool
}

// Plain returns a paragraph of unstyled text.
func Plain(text string) Paragraph { return Paragraph{Spans: []Span{{Text: text}}} }

// List is a bulleted or numbered list; each item is a sequence of blocks. An ordered list counts from Start,
// from 1 when that is zero.
type List struct {
	Ordered bool
	Start   int
	Items   [][]Block
}

// Number returns the number of the i-th item, counted from 0.
func (l List) Number(i int) int {
	if l.Start == 0 {
		return i + 1
	}
	return l.Start + i
}

// Quote is what is set apart as somebody else's words.
type Quote struct{ Blocks []Block }

// Code is preformatted text, kept line by line.
type Code struct{ Text string }

// Align says where the text of a column stands.
type Align uint8

// Numbers align right, words left.
const (
	Left Align = iota
	Right
	Centre
)

// Column is the head of a table's column. A Mono column is set in the fixed-pitch face: hashes, file
// names, code.
type Column struct {
	Head  string
	Align Align
	Mono  bool
}

// Table is a table of short texts. Every row has as many cells as there are columns. The first cell of a row names it:
// it is read aloud with each of the others.
type Table struct {
	Caption string
	Columns []Column
	Rows    [][]string
	Note    string // printed under the table
	Compact bool   // rows stand close: many of them, of one line
}

// Figure is a drawing with a caption. Text describes it for readers that cannot draw: what the axes
// are, what is plotted, and the figures a reader would take from it.
type Figure struct {
	Caption string
	Text    string
	Width   vg.Length // as it stands on the page
	Height  vg.Length
	Drawing Drawing
	Still   bool // in a notebook it is drawn anew again and again, and numbers are not read off it
}

// Alt is what stands for the figure where nobody sees it: what it shows in words, or else its caption. What a picture
// shows only its caption knows.
func (f Figure) Alt() string {
	if _, ok := f.Drawing.(Picture); ok && f.Caption != "" {
		return strings.TrimSuffix(f.Caption, ".") + ". " + f.Text
	}
	if f.Text != "" {
		return f.Text
	}
	return f.Caption
}

// Sized is the figure with a size on the page, in metres.
func (f Figure) Sized(width, height float64) Figure {
	f.Width, f.Height = vg.Length(width*1e3)*vg.Millimeter, vg.Length(height*1e3)*vg.Millimeter
	return f
}

// Drawing puts a figure on a canvas of any size. It must not keep the canvas, and must draw the same
// strokes in the same order every time.
type Drawing interface{ Draw(c vg.CanvasSizer) error }

// Fields is a block of name and value rows inside the flow.
type Fields struct {
	Caption string
	Rows    []Field
}

// Outcome is the result of one examination.
type Outcome uint8

// Undecided means that the data cannot tell; it does not count as a pass.
const (
	Pass Outcome = iota + 1
	Fail
	Undecided
)

// Verdict is one of the three judgements of a report, never folded into one: model agreement, limit
// conformity, data quality.
type Verdict struct {
	Subject  string // "model agreement"
	Outcome  Outcome
	Sentence string // why, in one sentence with its figures
}

// Caution is a warning set apart from the text: a hazard, an extrapolation, a limit of the model.
type Caution struct{ Text string }

// Rule is a line across the page that parts what is above from what is below.
type Rule struct{}

// Signatures is the block that people sign: one row for each role, filled in or left blank for a pen; above them a box
// to tick for each Disposition.
type Signatures struct {
	Disposition []string
	Rows        []Signature
}

// Signature is one row of it. A name or date that is empty leaves room for writing.
type Signature struct{ Role, Name, Date string }

func (Heading) block()    {}
func (Paragraph) block()  {}
func (List) block()       {}
func (Quote) block()      {}
func (Code) block()       {}
func (Table) block()      {}
func (Figure) block()     {}
func (Fields) block()     {}
func (Verdict) block()    {}
func (Caution) block()    {}
func (Rule) block()       {}
func (Signatures) block() {}

// String returns "pass", "fail" or "undecided".
func (o Outcome) String() string {
	switch o {
	case Pass:
		return "pass"
	case Fail:
		return "fail"
	case Undecided:
		return "undecided"
	}
	return "not examined"
}

// OutcomeOf returns the outcome that String words so; for any other text that of nothing examined.
func OutcomeOf(s string) Outcome {
	for _, o := range []Outcome{Pass, Fail, Undecided} {
		if o.String() == s {
			return o
		}
	}
	return 0
}

// Mark returns the sign that stands beside the word, so that an outcome is told by word and shape and
// never by colour alone: a check mark, a cross, a question mark.
func (o Outcome) Mark() string {
	switch o {
	case Pass:
		return "\u2713"
	case Fail:
		return "\u2717"
	case Undecided:
		return "?"
	}
	return "\u2013"
}

// Lowered returns the blocks of a section with the headings from a notebook below that of the section, which itself
// stands more levels below its own.
func (s Section) Lowered(more int) []Block {
	blocks := make([]Block, len(s.Blocks))
	for i, b := range s.Blocks {
		blocks[i] = s.below(b, more)
	}
	return blocks
}

// below puts a heading from a notebook below the section that holds it, with more levels above both.
func (s Section) below(b Block, more int) Block {
	if h, ok := b.(Heading); ok {
		h.Level = max(s.Level, 1) + more + max(h.Level, 1)
		return h
	}
	return b
}

// PlainText returns the text of the spans without their styles. Subscripts and superscripts keep a sign, as
// in E_n and 10^(−A/20), for without it they would be read as factors.
func PlainText(spans []Span) string {
	var b strings.Builder
	for i := 0; i < len(spans); i++ {
		const scripts = Sub | Super
		script := spans[i].Style & scripts
		if script == 0 {
			b.WriteString(spans[i].Text)
			continue
		}
		text := spans[i].Text
		for i+1 < len(spans) && spans[i+1].Style&scripts == script {
			i++
			text += spans[i].Text
		}
		sign := "^"
		if script == Sub {
			sign = "_"
		}
		if strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) &&
			len([]rune(text)) > 1 {
			text = "(" + text + ")"
		}
		b.WriteString(sign + text)
	}
	return b.String()
}
