package session

import (
	"strings"
	"unicode/utf8"

	"go.starlark.net/syntax"
)

// point is a place in a cell, as the scanner counts: from 1, columns in code points.
type point struct{ line, col int32 }

func at(p syntax.Position) point { return point{p.Line, p.Col} }

// keywords after which ** cannot be an operator: what stands before it is no operand.
var keywords = map[string]bool{
	"and": true, "or": true, "not": true, "in": true, "if": true, "elif": true, "else": true,
	"return": true, "lambda": true, "for": true, "while": true, "def": true,
}

// powers finds every ** between operands, outside strings and comments, and every **=. It returns the
// source with each as "* " or "*= ", which Starlark can parse and which moves no column, and where they
// stood. The ** of f(**kw) and def f(**kw) follows no operand and stays.
func powers(src string) (string, map[point]bool) {
	if !strings.Contains(src, "**") {
		return src, nil
	}
	c := cursor{src: []byte(src), line: 1, col: 1}
	found := map[point]bool{}
	operand := false // the last token can end an operand
	for c.i < len(c.src) {
		b := c.src[c.i]
		switch {
		case b == '#':
			for c.i < len(c.src) && c.src[c.i] != '\n' {
				c.next()
			}
		case b == '"' || b == '\'':
			c.skipString(b)
			operand = true
		case b == '*' && c.has("**"):
			if operand {
				found[point{c.line, c.col}] = true
				if c.has("**=") {
					copy(c.src[c.i:], "*= ")
				} else {
					copy(c.src[c.i:], "* ")
				}
			}
			c.next()
			c.next()
			operand = false
		case strings.IndexByte(" \t\n\\", b) >= 0:
			c.next()
		case wordByte(b):
			start := c.i
			for c.i < len(c.src) && wordByte(c.src[c.i]) {
				c.next()
			}
			operand = !keywords[string(c.src[start:c.i])]
		default:
			operand = b == ')' || b == ']' || b == '}'
			c.next()
		}
	}
	return string(c.src), found
}

// wordByte reports whether b belongs to a name or a number.
func wordByte(b byte) bool {
	return b == '_' || b == '.' || b >= utf8.RuneSelf || '0' <= b && b <= '9' || 'a' <= b|0x20 && b|0x20 <= 'z'
}

// cursor walks over a cell and counts lines and columns.
type cursor struct {
	src       []byte
	i         int
	line, col int32
}

func (c *cursor) has(text string) bool {
	return strings.HasPrefix(string(c.src[c.i:min(c.i+3, len(c.src))]), text)
}

func (c *cursor) next() {
	if c.i >= len(c.src) {
		return
	}
	_, n := utf8.DecodeRune(c.src[c.i:])
	if c.src[c.i] == '\n' {
		c.line, c.col = c.line+1, 1
	} else {
		c.col++
	}
	c.i += n
}

// skipString passes over a string; one without an end is left to the parser, which reports it.
func (c *cursor) skipString(quote byte) {
	mark := string(quote)
	if triple := strings.Repeat(mark, 3); c.has(triple) {
		mark = triple
	}
	for range mark {
		c.next()
	}
	for c.i < len(c.src) {
		switch {
		case c.src[c.i] == '\\':
			c.next()
			c.next()
		case c.has(mark):
			for range mark {
				c.next()
			}
			return
		case c.src[c.i] == '\n' && len(mark) == 1:
			return
		default:
			c.next()
		}
	}
}

// product reports whether an operator binds as tightly as *, the level at which the parser read every **.
func product(t syntax.Token) bool {
	return t == syntax.STAR || t == syntax.SLASH || t == syntax.SLASHSLASH || t == syntax.PERCENT
}

// chain rewrites a chain of operators of that level, and gives each ** its place in it: tighter than its
// neighbours and than a sign on its left, looser than a sign on its right, grouping to the right.
func (r *rewriter) chain(e *syntax.BinaryExpr) syntax.Expr {
	var ops []*syntax.BinaryExpr // from the last operator to the first
	var first syntax.Expr = e
	for {
		b, ok := first.(*syntax.BinaryExpr)
		if !ok || !product(b.Op) {
			break
		}
		ops = append(ops, b)
		first = b.X
	}
	n := len(ops)
	if n > nesting-r.depth {
		r.depth += n // which is how deep its calls would be
		r.enter(e)
		r.depth -= n
		return e
	}
	op := func(i int) *syntax.BinaryExpr { return ops[n-1-i] }
	operand := func(i int) syntax.Expr {
		if i == 0 {
			return first
		}
		return op(i - 1).Y
	}
	// take returns operand i with the powers that follow it, and how far they reach.
	var take func(i int) (syntax.Expr, int)
	take = func(i int) (syntax.Expr, int) {
		if i < n && r.powers[at(op(i).OpPos)] {
			y, end := take(i + 1)
			return r.power(operand(i), y, op(i).OpPos), end
		}
		return r.expr(operand(i)), i
	}
	acc, i := take(0)
	for i < n {
		o := op(i)
		y, end := take(i + 1)
		acc, i = r.binary(o.Op, o.OpPos, acc, y), end
	}
	return acc
}

// power makes x ** y of a base not yet rewritten and an exponent that is; signs of the base come to
// stand outside.
func (r *rewriter) power(x, y syntax.Expr, pos syntax.Position) syntax.Expr {
	if u, ok := x.(*syntax.UnaryExpr); ok && u.Op != syntax.NOT {
		return &syntax.UnaryExpr{OpPos: u.OpPos, Op: u.Op, X: r.power(u.X, y, pos)}
	}
	return call(opPower, pos, r.expr(x), y)
}
