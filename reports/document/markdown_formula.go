package document

import (
	"bytes"
	"strings"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
)

// formulaNode is mathematics between dollar signs, or in an environment of TeX.
type formulaNode struct {
	ast.BaseInline
	tex       string // between the signs
	written   string // with them
	displayed bool
}

var kindFormula = ast.NewNodeKind("Formula")

func (*formulaNode) Kind() ast.NodeKind              { return kindFormula }
func (n *formulaNode) Dump(source []byte, level int) { ast.DumpHelper(n, source, level, nil, nil) }
func (n *formulaNode) Text(source []byte) (t []byte) { return []byte(n.written) }

// formulaParser finds formulas as notebooks write them: $...$ in the line, $$...$$ and
// \begin{...}...\end{...} displayed. Amounts of money are text: a dollar opens a formula only before a
// character, and closes it only after one and not before a digit.
type formulaParser struct{}

func (formulaParser) Trigger() []byte { return []byte{'$', '\\'} }

func (formulaParser) Parse(_ ast.Node, block text.Reader, _ parser.Context) ast.Node {
	line, _ := block.PeekLine()
	if line[0] == '\\' && !bytes.HasPrefix(line, []byte(`\begin{`)) {
		return nil
	}
	src := rest(block)
	open, closing, tex := "$", "$", ""
	switch {
	case bytes.HasPrefix(src, []byte("$$")):
		open, closing = "$$", "$$"
	case src[0] == '$':
	default:
		name, _, ok := bytes.Cut(bytes.TrimPrefix(src, []byte(`\begin{`)), []byte("}"))
		if !ok || len(name) == 0 || len(name) > 20 {
			return nil
		}
		open, closing = `\begin{`+string(name)+`}`, `\end{`+string(name)+`}`
	}
	end := 0
	for from := len(open); ; from = end + len(closing) {
		k := bytes.Index(src[min(from, len(src)):], []byte(closing))
		if k < 0 {
			return nil
		}
		end = from + k
		escaped := src[end-1] == '\\'
		after := src[end+len(closing):]
		if money := open == "$" && (isSpace(src[end-1]) || len(after) > 0 && after[0] >= '0' &&
			after[0] <= '9'); !escaped && !money {
			break
		}
	}
	tex = string(src[len(open):end])
	if strings.TrimSpace(tex) == "" || open == "$" && isSpace(tex[0]) {
		return nil
	}
	n := &formulaNode{tex: tex, written: open + tex + closing, displayed: open != "$"}
	if open[0] == '\\' && open != `\begin{equation}` && open != `\begin{equation*}` {
		n.tex = open + tex // no part of what Formula knows
	}
	advance(block, len(n.written))
	return n
}

func isSpace(c byte) bool { return c == ' ' || c == '\t' || c == '\n' }

// longest is how many bytes are searched for the end of a formula: a page of lone dollars must not take the
// square of its length.
const longest = 2000

// rest returns what is left of the block, lines joined as in the source, up to the longest formula.
func rest(block text.Reader) []byte {
	l, pos := block.Position()
	defer block.SetPosition(l, pos)
	var b []byte
	for {
		line, _ := block.PeekLine()
		if line == nil || len(b) > longest {
			return b[:min(len(b), longest)]
		}
		b = append(b, line[:min(len(line), longest)]...)
		block.AdvanceLine()
	}
}

// advance skips n bytes of what rest returned.
func advance(block text.Reader, n int) {
	for n > 0 {
		line, _ := block.PeekLine()
		if n < len(line) {
			block.Advance(n)
			return
		}
		n -= len(line)
		block.AdvanceLine()
	}
}
