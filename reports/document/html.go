package document

import (
	"encoding/base64"
	"fmt"
	"html"
	"net/url"
	"strings"
)

// Styles are written into the elements, since a notebook keeps no style sheet of ours. They take text colour
// and page colour from where they stand, and shade with translucent grey, so that they read on white and on
// black alike.
const (
	styleTable = "border-collapse:collapse;margin:.3em " +
		"0;color:inherit;background:transparent;font-variant-numeric:tabular-nums"
	styleHead    = "border-bottom:2px solid rgba(128,128,128,.7)"
	styleRow     = "border-bottom:1px solid rgba(128,128,128,.35);vertical-align:top;background:transparent"
	styleCaption = "margin:.4em 0;"
	styleSmall   = "margin:.2em 0;font-size:90%;opacity:.85;"
	styleBox     = "margin:.5em 0;padding:.4em .8em;background:rgba(128,128,128,.12);color:inherit;border-left:.35em " +
		"solid "
	styleCode = "font-family:monospace;white-space:pre-wrap;overflow-wrap:anywhere;margin:.5em 0;padding:.5em " +
		".8em;background:rgba(128,128,128,.12);color:inherit;"
)

// HTML writes the whole document as a fragment of HTML, without html or body elements.
func (d Document) HTML() string {
	var b strings.Builder
	b.WriteString("<h1>" + esc(d.Title) + "</h1>\n")
	if d.Subtitle != "" {
		b.WriteString("<p>" + esc(d.Subtitle) + "</p>\n")
	}
	if len(d.Identity) > 0 {
		writeHTML(&b, Fields{Rows: d.Identity})
	}
	verdictsHTML(&b, d.Verdicts)
	for _, s := range d.Sections {
		writeHTML(&b, Heading{Level: max(s.Level, 1) + 1, Text: s.Title})
		blocks := make([]Block, len(s.Blocks))
		for i, x := range s.Blocks {
			blocks[i] = s.below(x, 1)
		}
		b.WriteString(HTML(blocks))
	}
	if d.Notice != "" {
		fmt.Fprintf(&b, "<p style=\"%s\">%s</p>\n", styleSmall, esc(d.Notice))
	}
	return b.String()
}

// HTML writes blocks as a fragment of HTML for a notebook's cell: every text escaped, styles inside the
// elements, figures as pictures in place. A figure that cannot be drawn is replaced by a line that says why.
func HTML(blocks []Block) string {
	var b strings.Builder
	for i := 0; i < len(blocks); i++ {
		if panel := leadingVerdicts(blocks[i:]); len(panel) > 0 {
			verdictsHTML(&b, panel)
			i += len(panel) - 1
			continue
		}
		writeHTML(&b, blocks[i])
	}
	return b.String()
}

func writeHTML(b *strings.Builder, x Block) {
	switch x := x.(type) {
	case Heading:
		n := min(max(x.Level, 1), 6)
		fmt.Fprintf(b, "<h%d>%s</h%d>\n", n, esc(x.Text), n)
	case Paragraph:
		if x.Displayed {
			b.WriteString("<p style=\"margin-left:2em\">" + spansHTML(x.Spans) + "</p>\n")
			return
		}
		b.WriteString("<p>" + spansHTML(x.Spans) + "</p>\n")
	case List:
		listHTML(b, x)
	case Quote:
		b.WriteString("<blockquote>\n" + HTML(x.Blocks) + "</blockquote>\n")
	case Code:
		fmt.Fprintf(b, "<pre style=\"%s\">%s</pre>\n", styleCode,
			html.EscapeString(valid(strings.TrimRight(x.Text, "\n"))))
	case Table:
		tableHTML(b, x)
	case Figure:
		svg, err := SVG(x)
		figureHTML(b, x, svg, err)
	case Fields:
		fieldsHTML(b, x)
	case Verdict:
		verdictsHTML(b, []Verdict{x})
	case Caution:
		fmt.Fprintf(b, "<div style=\"%s#808080\"><strong>Caution:</strong> %s</div>\n", styleBox, esc(x.Text))
	case Rule:
		b.WriteString("<hr>\n")
	case Signatures:
		t := Table{Columns: []Column{{Head: "Role"}, {Head: "Name"}, {Head: "Date"}, {Head: "Signature"}}}
		for _, r := range x.Rows {
			t.Rows = append(t.Rows, []string{r.Role, r.Name, r.Date, ""})
		}
		tableHTML(b, t)
	}
}

func spansHTML(spans []Span) string {
	var b strings.Builder
	for _, s := range spans {
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
		b.WriteString(t)
	}
	return b.String()
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

func listHTML(b *strings.Builder, l List) {
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
			writeHTML(b, x)
		}
		b.WriteString("</li>\n")
	}
	fmt.Fprintf(b, "</%s>\n", tag)
}

func tableHTML(b *strings.Builder, t Table) {
	if t.Caption != "" {
		fmt.Fprintf(b, "<p style=\"%s\"><strong>%s</strong></p>\n", styleCaption, esc(t.Caption))
	}
	// Padding by attribute and lines by row: a style in every cell would make most of a long table.
	fmt.Fprintf(b, "<table cellpadding=\"4\" style=\"%s\">\n<thead><tr style=\"%s\">", styleTable, styleHead)
	for _, c := range t.Columns {
		fmt.Fprintf(b, "<th style=\"%s\">%s</th>", alignHTML(c), esc(c.Head))
	}
	b.WriteString("</tr></thead>\n<tbody>\n")
	for _, r := range t.Rows {
		fmt.Fprintf(b, "<tr style=\"%s\">", styleRow)
		for i, c := range t.Columns {
			cell := ""
			if i < len(r) {
				cell = r[i]
			}
			fmt.Fprintf(b, "<td style=\"%s\">%s</td>", alignHTML(c), esc(cell))
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</tbody></table>\n")
	if t.Note != "" {
		fmt.Fprintf(b, "<p style=\"%s\">%s</p>\n", styleSmall, esc(t.Note))
	}
}

func alignHTML(c Column) string {
	s := "text-align:left"
	switch c.Align {
	case Right:
		s = "text-align:right"
	case Centre:
		s = "text-align:center"
	}
	if c.Mono {
		s += ";font-family:monospace;overflow-wrap:anywhere"
	}
	return s
}

func fieldsHTML(b *strings.Builder, f Fields) {
	if f.Caption != "" {
		fmt.Fprintf(b, "<p style=\"%s\"><strong>%s</strong></p>\n", styleCaption, esc(f.Caption))
	}
	fmt.Fprintf(b, "<table cellpadding=\"4\" style=\"%s\"><tbody>\n", styleTable)
	for _, r := range f.Rows {
		fmt.Fprintf(b, "<tr style=\"%s\"><th scope=\"row\" style=\"text-align:left;white-space:nowrap\">%s</th><td "+
			"style=\"text-align:left\">%s</td></tr>\n",
			styleRow, esc(r.Name), esc(r.Value))
	}
	b.WriteString("</tbody></table>\n")
}

// figureHTML writes a figure that SVG has drawn, or why it has not.
func figureHTML(b *strings.Builder, f Figure, svg string, err error) {
	if err != nil {
		fmt.Fprintf(b, "<p><strong>%s</strong></p>\n", esc(fmt.Sprintf("this figure could not be drawn: %v", err)))
	} else {
		// The figure draws its own white ground, so it needs no care in a dark theme.
		b.WriteString(pictureHTML(svg, f.Alt(), "max-width:100%") + "\n")
	}
	fmt.Fprintf(b, "<p style=\"%s\"><em>%s</em></p>\n", styleCaption, esc(f.Caption))
}

// pictureHTML is a drawing as a picture that carries itself: viewers that do not trust a page take SVG elements out of
// it, and leave pictures in. The text is what a screen reader says.
func pictureHTML(svg, alt, style string) string {
	return fmt.Sprintf("<img src=\"data:image/svg+xml;base64,%s\" alt=\"%s\" style=\"%s\"/>",
		base64.StdEncoding.EncodeToString([]byte(svg)), html.EscapeString(valid(alt)), style)
}

// esc escapes text for HTML and turns its line feeds into breaks.
func esc(s string) string {
	return strings.ReplaceAll(html.EscapeString(valid(s)), "\n", "<br>")
}

// valid replaces bytes that are not UTF-8, which would make a notebook's JSON unreadable elsewhere.
func valid(s string) string { return strings.ToValidUTF8(s, "\uFFFD") }
