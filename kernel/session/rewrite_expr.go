package session

import (
	"slices"
	"strconv"

	"go.starlark.net/syntax"
)

// The hidden functions, by the names that rewritten cells call them.
const (
	opMul    = " *"
	opMod    = " %"
	opAdd    = " +"
	opGrow   = " +=" // grow(y): the right side of x += y, which stays in place
	opPower  = " **"
	opMinus  = " -"
	opUnion  = " |"
	opUnite  = " |=" // unite(x, y): x |= y, which changes a dict in place
	opCommon = " &"
	opEither = " ^"
	opShift  = " <<"
	opKey    = " key"    // key(x): x, which may be looked up
	opStar   = " *x"     // star(x): x, whose elements are to be arguments
	opNamed  = " **x"    // named(x): x, whose entries are to be named arguments
	opCall   = " call"   // call(f, ...): a word, whose panics are caught at the call
	opInvoke = " invoke" // invoke(x, "name", ...): a method
	opAttr   = " attr"   // attr(x, "name")
)

// guarded are the operators that become calls.
var guarded = map[syntax.Token]string{
	syntax.STAR: opMul, syntax.PERCENT: opMod, syntax.PLUS: opAdd,
	syntax.EQL: " ==", syntax.NEQ: " !=", syntax.LT: " <", syntax.LE: " <=", syntax.GT: " >", syntax.GE: " >=",
	syntax.MINUS: opMinus, syntax.PIPE: opUnion, syntax.AMP: opCommon, syntax.CIRCUMFLEX: opEither,
	syntax.LTLT: opShift,
	syntax.IN:   " in", syntax.NOT_IN: " not in",
}

// call is a call of a hidden function that stands at pos.
func call(name string, pos syntax.Position, args ...syntax.Expr) *syntax.CallExpr {
	return &syntax.CallExpr{Fn: &syntax.Ident{NamePos: pos, Name: name}, Lparen: pos, Args: args, Rparen: pos}
}

func text(id *syntax.Ident) syntax.Expr {
	return &syntax.Literal{Token: syntax.STRING, TokenPos: id.NamePos, Raw: strconv.Quote(id.Name), Value: id.Name}
}

// binary makes x op y of operands already rewritten.
func (r *rewriter) binary(op syntax.Token, pos syntax.Position, x, y syntax.Expr) syntax.Expr {
	if name := guarded[op]; name != "" && !harmless(op, x, y) {
		return call(name, pos, x, y)
	}
	return &syntax.BinaryExpr{X: x, OpPos: pos, Op: op, Y: y}
}

// harmless reports whether the operands show that the guard has nothing to do: a float times anything
// builds no sequence, a number on the left of % formats nothing, and a text equals no quantity.
func harmless(op syntax.Token, x, y syntax.Expr) bool {
	a, b := literal(x), literal(y)
	switch op {
	case syntax.PLUS:
		return fixed(x) || fixed(y)
	case syntax.MINUS, syntax.PIPE, syntax.AMP, syntax.CIRCUMFLEX:
		return numeric(x) || numeric(y)
	case syntax.STAR:
		return a == syntax.FLOAT || b == syntax.FLOAT || a == syntax.INT && b == syntax.INT && short(x) && short(y)
	case syntax.PERCENT:
		return a == syntax.INT || a == syntax.FLOAT
	case syntax.EQL, syntax.NEQ, syntax.LT, syntax.LE, syntax.GT, syntax.GE:
		return a == syntax.STRING || b == syntax.STRING
	}
	return false
}

// fixed reports whether e stands for a number, or for a text or a list whose size stands in the cell: a sum
// with it cannot double, however often it is taken.
func fixed(e syntax.Expr) bool {
	switch e := unparen(e).(type) {
	case *syntax.Literal, *syntax.ListExpr, *syntax.TupleExpr:
		return true
	case *syntax.BinaryExpr:
		return e.Op == syntax.MINUS || e.Op == syntax.SLASH || e.Op == syntax.SLASHSLASH
	case *syntax.CallExpr:
		f, ok := e.Fn.(*syntax.Ident)
		return ok && f.Name == opMinus
	}
	return false
}

// numeric reports whether e stands for a number or a quantity, whatever its operands are.
func numeric(e syntax.Expr) bool {
	switch e := unparen(e).(type) {
	case *syntax.Literal:
		return e.Token == syntax.INT || e.Token == syntax.FLOAT
	case *syntax.UnaryExpr:
		return e.Op != syntax.NOT && numeric(e.X)
	case *syntax.BinaryExpr:
		return e.Op == syntax.SLASH || e.Op == syntax.SLASHSLASH || e.Op == syntax.MINUS
	}
	return false
}

func literal(e syntax.Expr) syntax.Token {
	if l, ok := e.(*syntax.Literal); ok {
		return l.Token
	}
	return syntax.ILLEGAL
}

func short(e syntax.Expr) bool {
	_, ok := e.(*syntax.Literal).Value.(int64)
	return ok
}

func (r *rewriter) exprs(list []syntax.Expr) {
	for i := range list {
		list[i] = r.expr(list[i])
	}
}

// params rewrites the defaults of parameters.
func (r *rewriter) params(params []syntax.Expr) {
	for _, p := range params {
		if b, ok := p.(*syntax.BinaryExpr); ok {
			b.Y = r.expr(b.Y)
		}
	}
}

// key rewrites what stands for a key or an index: only a tuple can be more than is hashed in one go.
func (r *rewriter) key(e syntax.Expr) syntax.Expr {
	e = r.expr(e)
	if _, ok := unparen(e).(*syntax.Literal); ok || numeric(e) {
		return e
	}
	return call(opKey, syntax.Start(e), e)
}

func (r *rewriter) expr(e syntax.Expr) syntax.Expr {
	if e == nil || !r.enter(e) {
		return e
	}
	defer func() { r.depth-- }()
	switch e := e.(type) {
	case *syntax.BinaryExpr:
		switch {
		case e.Op == syntax.EQ: // a keyword argument
			e.Y = r.expr(e.Y)
			return e
		case product(e.Op):
			return r.chain(e)
		}
		return r.binary(e.Op, e.OpPos, r.expr(e.X), r.expr(e.Y))
	case *syntax.ParenExpr:
		e.X = r.expr(e.X)
	case *syntax.UnaryExpr:
		e.X = r.expr(e.X)
		switch e.Op {
		case syntax.STAR:
			e.X = call(opStar, e.OpPos, e.X)
		case syntax.STARSTAR:
			e.X = call(opNamed, e.OpPos, e.X)
		}
	case *syntax.CallExpr:
		return r.call(e)
	case *syntax.DotExpr:
		x := r.expr(e.X)
		if plainMethod(e.Name.Name) {
			e.X = x
			return e
		}
		return call(opAttr, e.Name.NamePos, x, text(e.Name))
	case *syntax.IndexExpr:
		e.X, e.Y = r.expr(e.X), r.key(e.Y)
	case *syntax.SliceExpr:
		e.X, e.Lo, e.Hi, e.Step = r.expr(e.X), r.expr(e.Lo), r.expr(e.Hi), r.expr(e.Step)
	case *syntax.CondExpr:
		e.Cond, e.True, e.False = r.expr(e.Cond), r.expr(e.True), r.expr(e.False)
	case *syntax.ListExpr:
		r.exprs(e.List)
	case *syntax.TupleExpr:
		r.exprs(e.List)
	case *syntax.DictExpr:
		r.exprs(e.List)
	case *syntax.DictEntry:
		e.Key, e.Value = r.key(e.Key), r.expr(e.Value)
	case *syntax.LambdaExpr:
		r.params(e.Params)
		e.Body = r.expr(e.Body)
	case *syntax.Comprehension:
		for _, c := range e.Clauses {
			switch c := c.(type) {
			case *syntax.ForClause:
				c.Vars, c.X = r.target(c.Vars, false), r.expr(c.X)
			case *syntax.IfClause:
				c.Cond = r.expr(c.Cond)
			}
		}
		e.Body = r.expr(e.Body)
	}
	return e
}

// namedFirst puts the named values of a call before *list and **dict, where Starlark wants them: whoever knows Python
// writes stack(*parts, beam=pair).
func namedFirst(args []syntax.Expr) {
	spread := func(e syntax.Expr) bool {
		u, ok := e.(*syntax.UnaryExpr)
		return ok && (u.Op == syntax.STAR || u.Op == syntax.STARSTAR)
	}
	named := func(e syntax.Expr) bool {
		b, ok := e.(*syntax.BinaryExpr)
		return ok && b.Op == syntax.EQ
	}
	i := slices.IndexFunc(args, spread)
	if i < 0 {
		return
	}
	var first, rest []syntax.Expr
	for _, e := range args[i:] {
		if named(e) {
			first = append(first, e)
		} else {
			rest = append(rest, e)
		}
	}
	copy(args[i:], append(first, rest...))
}

// call rewrites a call. Its position becomes the name of what is called: the caret then stands under the
// word and not under its bracket.
func (r *rewriter) call(e *syntax.CallExpr) syntax.Expr {
	r.exprs(e.Args)
	namedFirst(e.Args)
	switch fn := e.Fn.(type) {
	case *syntax.Ident:
		e.Lparen = fn.NamePos
		if r.word(fn.Name) {
			return call(opCall, fn.NamePos, append([]syntax.Expr{fn}, e.Args...)...)
		}
	case *syntax.DotExpr:
		e.Lparen = fn.Name.NamePos
		x := r.expr(fn.X)
		if !plainMethod(fn.Name.Name) {
			return call(opInvoke, fn.Name.NamePos, append([]syntax.Expr{x, text(fn.Name)}, e.Args...)...)
		}
		fn.X = x
	default:
		e.Fn = r.expr(e.Fn)
	}
	return e
}
