package document

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"sync"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	east "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// commonmark parses CommonMark with pipe tables and formulas. It is built on first use: a session that never
// meets a Markdown cell does not pay for it.
var commonmark = sync.OnceValue(func() parser.Parser {
	p := goldmark.New(goldmark.WithExtensions(extension.Table)).Parser()
	p.AddOptions(parser.WithInlineParsers(util.Prioritized(formulaParser{}, 150))) // after code, before links
	return p
})

// Pictures returns the file of a picture by the address that Markdown gives, which is never a data: address.
type Pictures func(address string) ([]byte, error)

// Markdown turns the source of a Markdown cell into blocks: headings, paragraphs with emphasis, code, links
// and formulas, lists, quotations, tables, code blocks, rules and pictures. Anything else (HTML) is kept as it
// was written, so that nothing of a narrative is lost without being seen. A picture that cannot be shown, or a
// formula that Formula does not know, is kept as written too, and a warning says so.
func Markdown(src string, pictures Pictures) (blocks []Block, warnings []string) {
	b := []byte(valid(src))
	m := &markdown{src: b, pictures: pictures}
	blocks = m.blocks(commonmark().Parse(text.NewReader(b)))
	return blocks, m.warnings
}

// PictureAddresses lists the addresses of the pictures in the source of a Markdown cell, in order.
func PictureAddresses(src string) []string {
	var all []string
	if !strings.Contains(src, "![") {
		return nil
	}
	b := []byte(valid(src))
	_ = ast.Walk(commonmark().Parse(text.NewReader(b)), func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if i, ok := n.(*ast.Image); ok && entering {
			all = append(all, string(i.Destination))
		}
		return ast.WalkContinue, nil // the walk itself cannot fail
	})
	return all
}

type markdown struct {
	src      []byte
	pictures Pictures
	warnings []string
	depth    int // of lists and quotations around what is read
}

// deepest is how many lists and quotations may stand within each other; what lies deeper is kept as written.
const deepest = 12

func (m *markdown) warn(format string, args ...any) {
	m.warnings = append(m.warnings, fmt.Sprintf(format, args...))
}

func (m *markdown) blocks(parent ast.Node) []Block {
	if m.depth++; m.depth > deepest {
		m.depth--
		return []Block{Code{Text: dedent(m.verbatim(parent))}}
	}
	defer func() { m.depth-- }()
	var out []Block
	for n := parent.FirstChild(); n != nil; n = n.NextSibling() {
		switch n := n.(type) {
		case *ast.Heading:
			out = append(out, Heading{Level: n.Level, Text: PlainText(m.spans(n))})
		case *ast.Paragraph, *ast.TextBlock:
			out = append(out, m.paragraph(n)...)
		case *ast.List:
			l := List{Ordered: n.IsOrdered()}
			if n.Start > 1 {
				l.Start = n.Start
			}
			for item := n.FirstChild(); item != nil; item = item.NextSibling() {
				l.Items = append(l.Items, m.blocks(item))
			}
			out = append(out, l)
		case *ast.Blockquote:
			out = append(out, Quote{Blocks: m.blocks(n)})
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

// dedent takes from every line the spaces that all have.
func dedent(s string) string {
	lines := strings.Split(s, "\n")
	least := len(s)
	for _, l := range lines {
		if t := strings.TrimLeft(l, " "); t != "" {
			least = min(least, len(l)-len(t))
		}
	}
	for i, l := range lines {
		lines[i] = l[min(least, len(l)-len(strings.TrimLeft(l, " "))):]
	}
	return strings.Join(lines, "\n")
}

func (m *markdown) table(t *east.Table) Table {
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

// paragraph sets the text of a paragraph, and its pictures and displayed formulas as blocks where they stand.
func (m *markdown) paragraph(n ast.Node) []Block {
	var out []Block
	in := inline{markdown: m}
	flush := func() {
		if spans := trimSpans(in.out); len(spans) > 0 {
			out = append(out, Paragraph{Spans: spans})
		}
		in.out = nil
	}
	in.apart = func(b Block) { flush(); out = append(out, b) }
	in.children(n, 0, "")
	flush()
	return out
}

// trimSpans drops the spaces that a line break beside a picture leaves.
func trimSpans(spans []Span) []Span {
	for len(spans) > 0 {
		if last := &spans[len(spans)-1]; strings.TrimSpace(last.Text) != "" {
			last.Text = strings.TrimRight(last.Text, " \n")
			break
		}
		spans = spans[:len(spans)-1]
	}
	for len(spans) > 0 {
		if first := &spans[0]; strings.TrimSpace(first.Text) != "" {
			first.Text = strings.TrimLeft(first.Text, " \n")
			break
		}
		spans = spans[1:]
	}
	return spans
}

// picture reads a picture; what it cannot is a warning and false.
func (m *markdown) picture(address, caption string) (Figure, bool) {
	data, err := m.fetch(address)
	var p Picture
	if err == nil {
		p, err = ReadPicture(data)
	}
	if err != nil {
		m.warn("picture %s is not shown: %v", shorten(address), err)
		return Figure{}, false
	}
	return p.Figure(caption), true
}

func (m *markdown) fetch(address string) ([]byte, error) {
	switch {
	case strings.HasPrefix(address, "data:"):
		return dataPicture(address)
	case m.pictures == nil:
		return nil, errors.New("no file can be read here")
	}
	return m.pictures(address)
}

// shorten cuts an address for a warning: a data: address may be megabytes.
func shorten(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// verbatim returns the source lines that a block covers, down to its deepest child.
func (m *markdown) verbatim(n ast.Node) string {
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
	from = bytes.LastIndexByte(m.src[:from], '\n') + 1 // whatever marks the line stands before its text
	return string(bytes.TrimRight(m.src[from:to], "\n"))
}
