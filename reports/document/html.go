package document

import (
	"encoding/base64"
	"fmt"
	"html"
	"net/url"
	"strings"
	"unicode"
)

// Hypertext writes blocks as HTML. The zero value writes for a cell of a notebook, which keeps no style sheet of ours:
// styles stand inside the elements, and figures are pictures in place.
type Hypertext struct {
	// Classes leaves the styles to the style sheet of a page, which knows the elements by their classes.
	Classes bool

	// Figure writes a figure with its caption; nil: as a picture.
	Figure func(b *strings.Builder, f Figure)
}

// look is how an element is told what it looks like: by a class or by a style of its own. The styles take text colour
// and page colour from where they stand, and shade with translucent grey, so that they read on white and on black
// alike.
type look struct{ class, style string }

var (
	lookTable = look{"table", "border-collapse:collapse;margin:.3em " +
		"0;color:inherit;background:transparent;font-variant-numeric:tabular-nums"}
	lookHead    = look{"head", "border-bottom:2px solid rgba(128,128,128,.7)"}
	lookRow     = look{"row", "border-bottom:1px solid rgba(128,128,128,.35);vertical-align:top;background:transparent"}
	lookCaption = look{"caption", "margin:.4em 0;"}
	lookSmall   = look{"note", "margin:.2em 0;font-size:90%;opacity:.85;"}
	lookCode    = look{"code", "font-family:monospace;white-space:pre-wrap;overflow-wrap:anywhere;margin:.5em " +
		"0;padding:.5em .8em;background:rgba(128,128,128,.12);color:inherit;"}
	lookCaution = look{"caution", "margin:.5em 0;padding:.4em " +
		".8em;background:rgba(128,128,128,.12);color:inherit;border-left:.35em solid #808080"}
	lookFormula = look{"formula", "margin-left:2em"}
	lookName    = look{"name", "text-align:left;white-space:nowrap"}
	lookValue   = look{"value", "text-align:left"}
	lookFigure  = look{"picture", "max-width:100%"}
)

// as is the attribute of an element that looks so.
func (h Hypertext) as(l look) string {
	if h.Classes {
		return ` class="` + l.class + `"`
	}
	return ` style="` + l.style + `"`
}

// HTML writes the whole document as a fragment of HTML, without html or body elements.
func (d Document) HTML() string {
	var b strings.Builder
	var h Hypertext
	b.WriteString("<h1>" + esc(d.Title) + "</h1>\n")
	if d.Subtitle != "" {
		b.WriteString("<p>" + esc(d.Subtitle) + "</p>\n")
	}
	if len(d.Identity) > 0 {
		h.write(&b, Fields{Rows: d.Identity})
	}
	h.verdicts(&b, d.Verdicts)
	for _, s := range d.Sections {
		h.write(&b, Heading{Level: max(s.Level, 1) + 1, Text: s.Title})
		h.Write(&b, s.Lowered(1))
	}
	if d.Notice != "" {
		fmt.Fprintf(&b, "<p%s>%s</p>\n", h.as(lookSmall), esc(d.Notice))
	}
	return b.String()
}

// HTML writes blocks as a fragment of HTML for a notebook's cell: every text escaped, styles inside the
// elements, figures as pictures in place. A figure that cannot be drawn is replaced by a line that says why.
func HTML(blocks []Block) string {
	var b strings.Builder
	Hypertext{}.Write(&b, blocks)
	return b.String()
}

// Write writes blocks one after the other, verdicts that follow each other as one panel. Every text is escaped.
func (h Hypertext) Write(b *strings.Builder, blocks []Block) {
	for i := 0; i < len(blocks); i++ {
		if panel := leadingVerdicts(blocks[i:]); len(panel) > 0 {
			h.verdicts(b, panel)
			i += len(panel) - 1
			continue
		}
		h.write(b, blocks[i])
	}
}

func (h Hypertext) write(b *strings.Builder, x Block) {
	switch x := x.(type) {
	case Heading:
		n := min(max(x.Level, 1), 6)
		fmt.Fprintf(b, "<h%d>%s</h%d>\n", n, esc(x.Text), n)
	case Paragraph:
		if x.Displayed {
			b.WriteString("<p" + h.as(lookFormula) + ">" + spansHTML(x.Spans) + "</p>\n")
			return
		}
		b.WriteString("<p>" + spansHTML(x.Spans) + "</p>\n")
	case List:
		h.list(b, x)
	case Quote:
		b.WriteString("<blockquote>\n")
		h.Write(b, x.Blocks)
		b.WriteString("</blockquote>\n")
	case Code:
		fmt.Fprintf(b, "<pre%s>%s</pre>\n", h.as(lookCode), escaped(strings.TrimRight(x.Text, "\n")))
	case Table:
		h.table(b, x)
	case Figure:
		if h.Figure != nil {
			h.Figure(b, x)
			return
		}
		svg, err := SVG(x)
		h.picture(b, x, svg, err)
	case Fields:
		h.fields(b, x)
	case Verdict:
		h.verdicts(b, []Verdict{x})
	case Caution:
		fmt.Fprintf(b, "<div%s><strong>Caution:</strong> %s</div>\n", h.as(lookCaution), esc(Numbers(x.Text)))
	case Rule:
		b.WriteString("<hr>\n")
	case Signatures:
		if len(x.Disposition) > 0 {
			h.write(b, Plain("Disposition: ☐ "+strings.Join(x.Disposition, " ☐ ")))
		}
		t := Table{Columns: []Column{{Head: "Role"}, {Head: "Name"}, {Head: "Date"}, {Head: "Signature"}}}
		if h.Classes { // room to write in
			b.WriteString("<div class=\"signatures\">\n")
			defer b.WriteString("</div>\n")
		}
		for _, r := range x.Rows {
			t.Rows = append(t.Rows, []string{r.Role, r.Name, r.Date, ""})
		}
		h.table(b, t)
	}
}

// spansHTML writes running text. A formula is read aloud as its plain text, not sign by sign.
func spansHTML(spans []Span) string {
	var b strings.Builder
	for i, s := range spans {
		if s.Formula != "" && (i == 0 || spans[i-1].Formula != s.Formula) {
			b.WriteString(`<span role="math" aria-label="` + Escape(s.Formula) + `">`)
		}
		b.WriteString(spanHTML(s))
		if s.Formula != "" && (i == len(spans)-1 || spans[i+1].Formula != s.Formula) {
			b.WriteString("</span>")
		}
	}
	return b.String()
}

func spanHTML(s Span) string {
	t := esc(s.Text)
	if s.Style&Mono != 0 {
		t = "<code>" + t + "</code>"
	}
	if s.Style&Sub != 0 {
		t = "<sub>" + t + "</sub>"
	}
	if s.Style&Super != 0 {
		t = "<sup>" + t + "</sup>"
	}
	if s.Style&Italic != 0 {
		t = "<em>" + t + "</em>"
	}
	if s.Style&Bold != 0 {
		t = "<strong>" + t + "</strong>"
	}
	if SafeLink(s.Link) {
		t = `<a href="` + html.EscapeString(s.Link) + `">` + t + "</a>"
	}
	return t
}

// SafeLink reports whether a link may be followed from a page: web, mail and places in the same page. The
// text of any other link is shown and leads nowhere, so that a notebook cannot put a script into a report.
func SafeLink(link string) bool {
	u, err := url.Parse(link)
	if err != nil || link == "" {
		return false
	}
	switch strings.ToLower(u.Scheme) {
	case "http", "https":
		return u.Host != ""
	case "mailto":
		return true
	}
	return strings.HasPrefix(link, "#")
}

func (h Hypertext) list(b *strings.Builder, l List) {
	tag := "ul"
	if l.Ordered {
		tag = "ol"
	}
	start := ""
	if l.Ordered && l.Number(0) != 1 {
		start = fmt.Sprintf(" start=\"%d\"", l.Number(0))
	}
	fmt.Fprintf(b, "<%s%s>\n", tag, start)
	for _, item := range l.Items {
		b.WriteString("<li>")
		for _, x := range item {
			if p, ok := x.(Paragraph); ok && len(item) == 1 {
				b.WriteString(spansHTML(p.Spans))
				continue
			}
			h.write(b, x)
		}
		b.WriteString("</li>\n")
	}
	fmt.Fprintf(b, "</%s>\n", tag)
}

// open begins a table under its caption. On a page the caption is the table's own, and a table that is wider than the
// window moves by itself.
func (h Hypertext) open(b *strings.Builder, caption string) {
	if h.Classes {
		fmt.Fprintf(b, "<div class=\"wide\">\n<table%s>\n", h.as(lookTable))
		if caption != "" {
			fmt.Fprintf(b, "<caption>%s</caption>\n", esc(caption))
		}
		return
	}
	if caption != "" {
		fmt.Fprintf(b, "<p%s><strong>%s</strong></p>\n", h.as(lookCaption), esc(caption))
	}
	// Padding by attribute and lines by row: a style in every cell would make most of a long table.
	fmt.Fprintf(b, "<table cellpadding=\"4\"%s>\n", h.as(lookTable))
}

func (h Hypertext) close(b *strings.Builder) {
	b.WriteString("</tbody></table>\n")
	if h.Classes {
		b.WriteString("</div>\n")
	}
}

func (h Hypertext) table(b *strings.Builder, t Table) {
	h.open(b, t.Caption)
	fmt.Fprintf(b, "<thead><tr%s>", h.as(lookHead))
	for _, c := range t.Columns {
		fmt.Fprintf(b, "<th scope=\"col\"%s>%s</th>", h.align(c), esc(c.Head))
	}
	b.WriteString("</tr></thead>\n<tbody>\n")
	for _, r := range t.Rows {
		fmt.Fprintf(b, "<tr%s>", h.as(lookRow))
		for i, c := range t.Columns {
			cell := ""
			if i < len(r) {
				cell = r[i]
			}
			if h.Classes && i == 0 && cell != "" { // the first cell names its row
				fmt.Fprintf(b, "<th scope=\"row\"%s>%s</th>", h.align(c), h.cell(c, cell))
				continue
			}
			fmt.Fprintf(b, "<td%s>%s</td>", h.align(c), h.cell(c, cell))
		}
		b.WriteString("</tr>\n")
	}
	h.close(b)
	if t.Note != "" {
		fmt.Fprintf(b, "<p%s>%s</p>\n", h.as(lookSmall), esc(t.Note))
	}
}

// cell escapes what a cell holds. A negative number has a minus sign, and on a page a number stays with its unit.
func (h Hypertext) cell(c Column, text string) string {
	if !c.Mono {
		text = Numbers(text)
	}
	if h.Classes && !c.Mono {
		text = Unbroken(text)
	}
	return esc(text)
}

func (h Hypertext) align(c Column) string {
	l := look{"", "text-align:left"}
	switch c.Align {
	case Right:
		l = look{"r", "text-align:right"}
	case Centre:
		l = look{"c", "text-align:center"}
	}
	if c.Mono {
		l = look{strings.TrimSpace(l.class + " mono"), l.style + ";font-family:monospace;overflow-wrap:anywhere"}
	}
	if h.Classes && l.class == "" {
		return ""
	}
	return h.as(l)
}

func (h Hypertext) fields(b *strings.Builder, f Fields) {
	h.open(b, f.Caption)
	b.WriteString("<tbody>\n")
	for _, r := range f.Rows {
		fmt.Fprintf(b, "<tr%s><th scope=\"row\"%s>%s</th><td%s>%s</td></tr>\n", h.as(lookRow), h.as(lookName),
			esc(r.Name), h.as(lookValue), h.cell(Column{}, r.Value))
	}
	h.close(b)
}

// picture writes a figure that SVG has drawn, or why it has not.
func (h Hypertext) picture(b *strings.Builder, f Figure, svg string, err error) {
	if err != nil {
		fmt.Fprintf(b, "<p><strong>%s</strong></p>\n", esc(fmt.Sprintf("this figure could not be drawn: %v", err)))
	} else {
		// The figure draws its own white ground, so it needs no care in a dark theme.
		b.WriteString(pictureHTML(svg, f.Alt(), h.as(lookFigure)) + "\n")
	}
	fmt.Fprintf(b, "<p%s><em>%s</em></p>\n", h.as(lookCaption), esc(f.Caption))
}

// pictureHTML is a drawing as a picture that carries itself: viewers that do not trust a page take SVG elements out of
// it, and leave pictures in. The text is what a screen reader says.
func pictureHTML(svg, alt, look string) string {
	return fmt.Sprintf("<img src=\"data:image/svg+xml;base64,%s\" alt=\"%s\"%s/>",
		base64.StdEncoding.EncodeToString([]byte(svg)), escaped(alt), look)
}

// Escape returns text that can stand in an element or an attribute in double quotes. Line feeds become spaces there.
func Escape(s string) string { return escaped(strings.ReplaceAll(s, "\n", " ")) }

// escaped is text in HTML. Characters that are not seen and change what is, controls and those that turn the direction
// of writing around, are named as the pages of a PDF name them: U+202E makes "gnp.exe" of a file's name "exe.png".
func escaped(s string) string {
	s = html.EscapeString(valid(s))
	if !strings.ContainsFunc(s, unseen) {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		if unseen(r) {
			fmt.Fprintf(&b, "U+%04X", r)
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}

// Directs reports whether a character turns the direction of text without being seen. Such could make a page read
// otherwise than it was checked (Unicode Standard Annex 9, explicit directional formatting characters).
func Directs(r rune) bool {
	return r >= 0x202A && r <= 0x202E || r >= 0x2066 && r <= 0x2069 || r == 0x200E || r == 0x200F || r == 0x061C
}

func unseen(r rune) bool {
	return unicode.IsControl(r) && r != '\n' && r != '\t' || Directs(r)
}

// esc escapes text for HTML and turns its line feeds into breaks.
func esc(s string) string {
	return strings.ReplaceAll(escaped(s), "\n", "<br>")
}

// valid replaces bytes that are not UTF-8, which would make a notebook's JSON unreadable elsewhere.
func valid(s string) string { return strings.ToValidUTF8(s, "\uFFFD") }
