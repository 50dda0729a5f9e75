package session

import (
	"strings"

	"go.starlark.net/syntax"
)

// powers finds every ** between operands, outside strings and comments, and every **=. It returns the
// source with each as "* " or "*= ", which Starlark can parse and which moves no column, and where they
// stood. The ** of f(**kw) and def f(**kw) follows no operand and stays.
func powers(src string) (string, map[point]bool) {
	if !strings.Contains(src, "**") {
		return src, nil
	}
	out, found := []byte(src), map[point]bool{}
	operand := false // the last token can end an operand
	tokens := scan(src)
	for i, t := range tokens {
		switch t.kind {
		case newlineToken, commentToken:
		case operatorToken:
			star := func(text string, n int) bool {
				return i+n < len(tokens) && tokens[i+n].is(text) && tokens[i+n-1].touches(tokens[i+n])
			}
			if operand && t.is("*") && star("*", 1) {
				found[t.at] = true
				if star("=", 2) {
					copy(out[t.offset:], "*= ")
				} else {
					copy(out[t.offset:], "* ")
				}
			}
			operand = t.is(")") || t.is("]") || t.is("}")
		default:
			operand = !reservedName[t.text]
		}
	}
	return string(out), found
}

func at(p syntax.Position) point { return point{p.Line, p.Col} }

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
