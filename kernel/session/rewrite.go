package session

import (
	"fmt"

	"go.starlark.net/syntax"
)

// rewriter turns the tree of a cell into one that the Starlark compiler runs with the semantics of a
// notebook. Names bound outside functions become fields of a hidden object, so that reads, which stay
// as they are and look into the same dictionary, see the current value wherever they stand. Operators
// that need a guard become calls of hidden functions.
type rewriter struct {
	word     func(name string) bool // stands for a word, whose calls are watched
	powers   map[point]bool         // where the cell has ** or **=
	assigned map[string]bool        // names of the session that the cell binds
	defs     []*syntax.DefStmt      // defs that carry a slot in their name
	depth    int                    // of the node at hand
	err      error                  // the first thing that a cell may not hold
}

// nesting bounds the depth of the tree. The parser bounds brackets; a sum of a million terms is as deep,
// and the resolver and the compiler would climb all of it on the stack of this process.
const nesting = 5000

// enter goes one level down, unless that is too deep.
func (r *rewriter) enter(n syntax.Node) bool {
	if r.depth >= nesting {
		if r.err == nil {
			r.fail(syntax.Start(n), fmt.Sprintf("an expression or a block of more than %d parts inside one another",
				nesting))
		}
		return false
	}
	r.depth++
	return true
}

func (r *rewriter) fail(pos syntax.Position, message string) {
	if r.err == nil {
		r.err = syntax.Error{Pos: pos, Msg: message}
	}
}

// cell rewrites all statements of a cell.
func (r *rewriter) cell(stmts []syntax.Stmt) []syntax.Stmt {
	n := len(stmts)
	var end syntax.Position
	if n > 0 {
		end = syntax.Start(stmts[n-1])
		if e, ok := stmts[n-1].(*syntax.ExprStmt); ok {
			stmts[n-1] = &syntax.AssignStmt{OpPos: end, Op: syntax.EQ, LHS: field(nameLast, end), RHS: e.X}
		}
	}
	stmts = r.stmts(stmts, true)
	return append(stmts, &syntax.ExprStmt{X: &syntax.Ident{NamePos: end, Name: nameSeal}})
}

// stmts rewrites a block. Outside any function (top) a bound name belongs to the session.
func (r *rewriter) stmts(in []syntax.Stmt, top bool) []syntax.Stmt {
	if len(in) == 0 || !r.enter(in[0]) {
		return nil // an if without else
	}
	defer func() { r.depth-- }()
	out := make([]syntax.Stmt, 0, len(in)+2)
	for _, s := range in {
		switch s := s.(type) {
		case *syntax.AssignStmt:
			out = r.assign(out, s, top)
			continue
		case *syntax.DefStmt:
			r.params(s.Params)
			s.Body = r.stmts(s.Body, false)
			if top {
				out = append(out, s, r.publish(s))
				continue
			}
		case *syntax.ExprStmt:
			s.X = r.expr(s.X)
		case *syntax.ForStmt:
			s.X = r.expr(s.X)
			s.Vars = r.target(s.Vars, top)
			s.Body = r.stmts(s.Body, top)
		case *syntax.WhileStmt:
			s.Cond = r.expr(s.Cond)
			s.Body = r.stmts(s.Body, top)
		case *syntax.IfStmt:
			s.Cond = r.expr(s.Cond)
			s.True = r.stmts(s.True, top)
			s.False = r.stmts(s.False, top)
		case *syntax.ReturnStmt:
			s.Result = r.expr(s.Result)
		case *syntax.LoadStmt:
			out = r.load(out, s, top)
			continue
		}
		out = append(out, s)
	}
	return out
}

// publish gives the function of a top-level def a slot of its own, and returns the assignment that makes
// it the value of the session's name. Without the slot the compiler would bind the name to this cell.
func (r *rewriter) publish(s *syntax.DefStmt) syntax.Stmt {
	name, pos := s.Name.Name, s.Name.NamePos
	s.Name.Name = name + slot
	r.defs = append(r.defs, s)
	r.assigned[name] = true
	return &syntax.AssignStmt{OpPos: s.Def, Op: syntax.EQ, LHS: field(name, pos), RHS: &syntax.Ident{NamePos: pos,
		Name: name + slot}}
}

// augmented are the assignments whose operator needs a guard; += and the others work in place.
var augmented = map[syntax.Token]string{
	syntax.STAR_EQ: opMul, syntax.PERCENT_EQ: opMod, syntax.MINUS_EQ: opMinus, syntax.PIPE_EQ: opUnite,
	syntax.AMP_EQ: opCommon, syntax.CIRCUMFLEX_EQ: opEither, syntax.LTLT_EQ: opShift,
}

func (r *rewriter) assign(out []syntax.Stmt, s *syntax.AssignStmt, top bool) []syntax.Stmt {
	op := augmented[s.Op]
	if r.powers[at(s.OpPos)] {
		op = opPower
	}
	if op == "" || op == opMinus && numeric(s.RHS) {
		s.RHS = r.expr(s.RHS)
		if s.Op == syntax.PLUS_EQ && !fixed(s.RHS) && !other(s.LHS, s.RHS) {
			s.RHS = call(opGrow, s.OpPos, s.RHS)
		}
		s.LHS = r.target(s.LHS, top)
		return append(out, s)
	}
	// x op= y becomes x = guard(x, y). What x is reached through is evaluated once, before y.
	var read syntax.Expr
	switch x := unparen(s.LHS).(type) {
	case *syntax.Ident:
		read = &syntax.Ident{NamePos: x.NamePos, Name: x.Name}
		s.LHS = r.target(x, top)
	case *syntax.IndexExpr:
		out = append(out, keep(nameObject, r.expr(x.X)), keep(nameKey, r.key(x.Y)))
		item := func() syntax.Expr {
			return &syntax.IndexExpr{X: temporary(nameObject, x.Lbrack), Lbrack: x.Lbrack,
				Y: temporary(nameKey, x.Lbrack), Rbrack: x.Rbrack}
		}
		read, s.LHS = item(), item()
	case *syntax.DotExpr:
		out = append(out, keep(nameObject, r.expr(x.X)))
		item := func() syntax.Expr {
			return &syntax.DotExpr{X: temporary(nameObject, x.Dot), Dot: x.Dot, NamePos: x.NamePos, Name: x.Name}
		}
		read, s.LHS = item(), item()
	default:
		return append(out, s) // the resolver says why it cannot be assigned to
	}
	s.Op, s.RHS = syntax.EQ, call(op, s.OpPos, read, r.expr(s.RHS))
	return append(out, s)
}

// other reports whether y is a name and x a different one: x += y in a loop is common, and does not
// double x unless y is meant to be the same list. The watch over the heap is enough for that.
func other(x, y syntax.Expr) bool {
	a, okx := unparen(x).(*syntax.Ident)
	b, oky := unparen(y).(*syntax.Ident)
	return okx && oky && a.Name != b.Name
}

func temporary(name string, pos syntax.Position) syntax.Expr {
	return &syntax.Ident{NamePos: pos, Name: name}
}

func keep(name string, e syntax.Expr) syntax.Stmt {
	pos := syntax.Start(e)
	return &syntax.AssignStmt{OpPos: pos, Op: syntax.EQ, LHS: temporary(name, pos), RHS: e}
}

func unparen(e syntax.Expr) syntax.Expr {
	for {
		p, ok := e.(*syntax.ParenExpr)
		if !ok {
			return e
		}
		e = p.X
	}
}

// field is a name of the session as the target of an assignment.
func field(name string, pos syntax.Position) syntax.Expr {
	return &syntax.DotExpr{X: &syntax.Ident{NamePos: pos, Name: nameGlobals}, Dot: pos, NamePos: pos,
		Name: &syntax.Ident{NamePos: pos, Name: name}}
}

// target rewrites what stands left of = or between for and in.
func (r *rewriter) target(e syntax.Expr, top bool) syntax.Expr {
	switch e := e.(type) {
	case *syntax.Ident:
		switch e.Name {
		case "None", "True", "False": // names like any other to Starlark
			r.fail(e.NamePos, "cannot assign to "+e.Name)
		}
		if top {
			r.assigned[e.Name] = true
			return field(e.Name, e.NamePos)
		}
	case *syntax.ParenExpr:
		e.X = r.target(e.X, top)
	case *syntax.TupleExpr:
		for i := range e.List {
			e.List[i] = r.target(e.List[i], top)
		}
	case *syntax.ListExpr:
		for i := range e.List {
			e.List[i] = r.target(e.List[i], top)
		}
	case *syntax.IndexExpr:
		e.X, e.Y = r.expr(e.X), r.key(e.Y)
	case *syntax.DotExpr:
		if x, ok := e.X.(*syntax.Ident); !ok || !hidden(x.Name) {
			e.X = r.expr(e.X)
		}
	}
	return e
}
