package document

import (
	"bytes"
	"sync"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	east "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// commonmark parses CommonMark with pipe tables. It is built on first use: a session that never meets a
// Markdown cell does not pay for it.
var commonmark = sync.OnceValue(func() parser.Parser {
	return goldmark.New(goldmark.WithExtensions(extension.Table)).Parser()
})

// Markdown turns the source of a Markdown cell into blocks: headings, paragraphs with emphasis, code and
// links, lists, tables, code blocks and rules. Anything else (quotations, images, HTML) is kept as it was
// written, so that nothing of a narrative is lost without being seen.
func Markdown(src string) []Block {
	b := []byte(valid(src))
	m := markdown{src: b}
	return m.blocks(commonmark().Parse(text.NewReader(b)))
}

type markdown struct{ src []byte }

func (m markdown) blocks(parent ast.Node) []Block {
	var out []Block
	for n := parent.FirstChild(); n != nil; n = n.NextSibling() {
		switch n := n.(type) {
		case *ast.Heading:
			out = append(out, Heading{Level: n.Level, Text: PlainText(m.spans(n))})
		case *ast.Paragraph, *ast.TextBlock:
			if s := m.spans(n); len(s) > 0 {
				out = append(out, Paragraph{Spans: s})
			}
		case *ast.List:
			l := List{Ordered: n.IsOrdered()}
			for item := n.FirstChild(); item != nil; item = item.NextSibling() {
				l.Items = append(l.Items, m.blocks(item))
			}
			out = append(out, l)
		case *ast.FencedCodeBlock:
			out = append(out, Code{Text: string(n.Lines().Value(m.src))})
		case *ast.CodeBlock:
			out = append(out, Code{Text: string(n.Lines().Value(m.src))})
		case *ast.ThematicBreak:
			out = append(out, Rule{})
		case *east.Table:
			out = append(out, m.table(n))
		case *ast.LinkReferenceDefinition:
			// Its address has gone into the links that use it.
		default:
			if s := m.verbatim(n); s != "" {
				out = append(out, Code{Text: s})
			}
		}
	}
	return out
}

func (m markdown) table(t *east.Table) Table {
	var out Table
	for row := t.FirstChild(); row != nil; row = row.NextSibling() {
		var cells []string
		for c := row.FirstChild(); c != nil; c = c.NextSibling() {
			cells = append(cells, PlainText(m.spans(c)))
		}
		if _, ok := row.(*east.TableHeader); !ok {
			for len(cells) < len(out.Columns) {
				cells = append(cells, "")
			}
			out.Rows = append(out.Rows, cells[:len(out.Columns)])
			continue
		}
		for i, head := range cells {
			c := Column{Head: head}
			if i < len(t.Alignments) {
				switch t.Alignments[i] {
				case east.AlignRight:
					c.Align = Right
				case east.AlignCenter:
					c.Align = Centre
				}
			}
			out.Columns = append(out.Columns, c)
		}
	}
	return out
}

func (m markdown) spans(n ast.Node) []Span {
	var out []Span
	m.inline(n, 0, "", &out)
	return out
}

// inline appends the inline children of n in the style and link they inherit.
func (m markdown) inline(parent ast.Node, style Style, link string, out *[]Span) {
	add := func(s string, style Style, link string) {
		if s == "" {
			return
		}
		if k := len(*out) - 1; k >= 0 && (*out)[k].Style == style && (*out)[k].Link == link {
			(*out)[k].Text += s
			return
		}
		*out = append(*out, Span{Text: s, Style: style, Link: link})
	}
	for n := parent.FirstChild(); n != nil; n = n.NextSibling() {
		switch n := n.(type) {
		case *ast.Text:
			v := n.Value(m.src)
			if !n.IsRaw() {
				v = util.ResolveEntityNames(util.ResolveNumericReferences(util.UnescapePunctuations(v)))
			}
			add(string(v), style, link)
			if n.HardLineBreak() {
				add("\n", style, link)
			} else if n.SoftLineBreak() {
				add(" ", style, link)
			}
		case *ast.String:
			add(string(n.Value), style, link)
		case *ast.CodeSpan:
			var b bytes.Buffer
			for c := n.FirstChild(); c != nil; c = c.NextSibling() {
				if t, ok := c.(*ast.Text); ok {
					b.Write(bytes.ReplaceAll(t.Value(m.src), []byte("\n"), []byte(" ")))
				}
			}
			add(b.String(), style|Mono, link)
		case *ast.Emphasis:
			s := style | Italic
			if n.Level >= 2 {
				s = style | Bold
			}
			m.inline(n, s, link, out)
		case *ast.Link:
			m.inline(n, style, string(n.Destination), out)
		case *ast.AutoLink:
			add(string(n.Label(m.src)), style, string(n.URL(m.src)))
		case *ast.Image:
			add("!["+PlainText(m.spans(n))+"]("+string(n.Destination)+")", style|Mono, link)
		case *ast.RawHTML:
			add(string(n.Segments.Value(m.src)), style|Mono, link)
		default:
			m.inline(n, style, link, out)
		}
	}
}

// verbatim returns the source lines that a block covers, down to its deepest child.
func (m markdown) verbatim(n ast.Node) string {
	from, to := len(m.src), 0
	_ = ast.Walk(n, func(c ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering && c.Type() == ast.TypeBlock {
			for i := range c.Lines().Len() {
				s := c.Lines().At(i)
				from, to = min(from, s.Start), max(to, s.Stop)
			}
			if h, ok := c.(*ast.HTMLBlock); ok && h.HasClosure() {
				from, to = min(from, h.ClosureLine.Start), max(to, h.ClosureLine.Stop)
			}
		}
		return ast.WalkContinue, nil // the walk itself cannot fail
	})
	if from >= to {
		return ""
	}
	from = bytes.LastIndexByte(m.src[:from], '\n') + 1 // the "> " of a quotation stands before its text
	return string(bytes.TrimRight(m.src[from:to], "\n"))
}
