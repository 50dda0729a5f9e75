package document

import (
	"bytes"
	"strings"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/util"
)

// spans returns the inline content of a node where no block can stand: a heading, the cell of a table.
func (m *markdown) spans(n ast.Node) []Span {
	in := inline{markdown: m}
	in.children(n, 0, "")
	return in.out
}

// inline collects the spans of one paragraph.
type inline struct {
	*markdown
	out   []Span
	apart func(Block) // takes a block out of the paragraph; nil where there is no place for one
}

func (in *inline) add(s string, style Style, link string) {
	in.span(Span{Text: s, Style: style, Link: link})
}

func (in *inline) span(s Span) {
	if s.Text == "" {
		return
	}
	if k := len(in.out) - 1; k >= 0 && in.out[k].Style == s.Style && in.out[k].Link == s.Link &&
		in.out[k].Formula == s.Formula {
		in.out[k].Text += s.Text
		return
	}
	in.out = append(in.out, s)
}

// children appends the inline children of a node in the style and link they inherit.
func (in *inline) children(parent ast.Node, style Style, link string) {
	for n := parent.FirstChild(); n != nil; n = n.NextSibling() {
		switch n := n.(type) {
		case *ast.Text:
			v := n.Value(in.src)
			if !n.IsRaw() {
				v = util.ResolveEntityNames(util.ResolveNumericReferences(util.UnescapePunctuations(v)))
			}
			in.add(string(v), style, link)
			if n.HardLineBreak() {
				in.add("\n", style, link)
			} else if n.SoftLineBreak() {
				in.add(" ", style, link)
			}
		case *ast.String:
			in.add(string(n.Value), style, link)
		case *ast.CodeSpan:
			var b bytes.Buffer
			for c := n.FirstChild(); c != nil; c = c.NextSibling() {
				if t, ok := c.(*ast.Text); ok {
					b.Write(bytes.ReplaceAll(t.Value(in.src), []byte("\n"), []byte(" ")))
				}
			}
			in.add(b.String(), style|Mono, link)
		case *ast.Emphasis:
			s := style | Italic
			if n.Level >= 2 {
				s = style | Bold
			}
			in.children(n, s, link)
		case *ast.Link:
			in.children(n, style, string(n.Destination))
		case *ast.AutoLink:
			in.add(string(n.Label(in.src)), style, string(n.URL(in.src)))
		case *ast.Image:
			in.image(n, style, link)
		case *formulaNode:
			in.formula(n, style, link)
		case *ast.RawHTML:
			tag := string(n.Segments.Value(in.src))
			if s, ok := tags[strings.ToLower(tag)]; ok {
				style = style&^s.off | s.on
				in.add(s.text, style, link)
				continue
			}
			in.add(tag, style|Mono, link)
		default:
			in.children(n, style, link)
		}
	}
}

// tags are the few of HTML that Markdown has no sign for and notebooks use.
var tags = map[string]struct {
	on, off Style
	text    string
}{
	"<sub>": {on: Sub}, "</sub>": {off: Sub}, "<sup>": {on: Super}, "</sup>": {off: Super},
	"<br>": {text: "\n"}, "<br/>": {text: "\n"}, "<br />": {text: "\n"},
}

// image takes a picture out of the paragraph, with its alternative text as the caption. One that cannot be
// shown leaves its Markdown, which names it.
func (in *inline) image(n *ast.Image, style Style, link string) {
	alt, address := PlainText(in.spans(n)), string(n.Destination)
	written := "![" + alt + "](" + shorten(address) + ")"
	if in.apart == nil {
		in.warn("picture %s is not shown: it is in a heading or a table", shorten(address))
		in.add(written, style|Mono, link)
		return
	}
	if f, ok := in.picture(address, alt); ok {
		in.apart(f)
		return
	}
	in.add(written, style|Mono, link)
	in.add(" (picture not shown)", style|Italic, link)
}

// formula sets a formula, displayed ones as a paragraph of their own.
func (in *inline) formula(n *formulaNode, style Style, link string) {
	spans, ok := Formula(n.tex)
	if !ok {
		in.warn("formula %s is printed as written", shorten(n.written))
		spans = []Span{{Text: strings.Join(strings.Fields(n.written), " "), Style: Mono}}
	}
	if n.displayed && in.apart != nil {
		in.apart(Paragraph{Spans: spans, Displayed: true})
		return
	}
	for _, s := range spans {
		in.span(Span{Text: s.Text, Style: style | s.Style, Link: link, Formula: s.Formula})
	}
}
