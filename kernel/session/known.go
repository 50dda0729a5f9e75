package session

import (
	"go.starlark.net/starlark"
	"go.starlark.net/syntax"
)

// known is what can be told of an expression without running it: its value, or the type it will have.
type known struct {
	value starlark.Value // nil when it is not there yet
	typ   string         // "" when nothing is known
	call  *Signature     // of a function
	attr  *Attribute     // what the outline of its owner says of it, when it is an attribute
	owner string         // the type of that
	from  starlark.Value // the value whose method it is
}

func valued(v starlark.Value) known {
	if v == nil {
		return known{}
	}
	k := known{value: v, typ: v.Type()}
	switch f := v.(type) {
	case Signed:
		sig := f.Signature()
		k.call = &sig
	case *starlark.Function:
		k.call = functionSignature(f)
	case *starlark.Builtin:
		k.call = builtinSignature(f)
	}
	return k
}

func functionSignature(f *starlark.Function) *Signature {
	var sig Signature
	n := f.NumParams()
	for i := range n {
		name, _ := f.Param(i)
		p := Parameter{Name: name}
		switch {
		case f.HasKwargs() && i == n-1:
			p.Place = AnyName
		case f.HasVarargs() && (i == n-1 || f.HasKwargs() && i == n-2):
			p.Place = AllFurther
		case i >= n-extra(f)-f.NumKwonlyParams():
			p.Place = ByName
		}
		if v := f.ParamDefault(i); v != nil {
			p.Detail = "default " + defaultText(v)
		}
		sig.Parameters = append(sig.Parameters, p)
	}
	return &sig
}

// defaultText writes a default, unless it is one that changes while cells run.
func defaultText(v starlark.Value) string {
	switch v.(type) {
	case *starlark.List, *starlark.Dict, *starlark.Set, starlark.Tuple:
		return "a " + v.Type()
	}
	return Text(v, 40)
}

// extra is how many of the parameters take all that the others do not.
func extra(f *starlark.Function) int {
	n := 0
	if f.HasKwargs() {
		n++
	}
	if f.HasVarargs() {
		n++
	}
	return n
}

// oracle tells what expressions of a place are. Lists and dicts change while a cell runs; it looks into
// them only when nobody uses them.
type oracle struct {
	s     *Session
	p     *place
	still bool           // nobody uses the values, nor will while the oracle is asked
	pow   map[point]bool // the operators of the expression at hand that are **
	depth int
	asked int
}

// Bounds on how far an expression is followed, in its parts and through assignments, and on the parts in
// all. A choice, far above what a person writes.
const (
	oracleDepth = 40
	oracleParts = 2000
)

// span tells what the tokens of a span are.
func (o *oracle) span(s span) known { return o.text(o.p.text(s), s.first) }

// text tells what an expression is that stands before the token.
func (o *oracle) text(expr string, before int) known {
	const most = 4000 // what a person writes in one expression; deep ones climb the stack
	if len(expr) > most {
		return known{}
	}
	parsed, pow := powers(expr)
	e, err := dialect.ParseExpr("cell", parsed, 0)
	if err != nil {
		return known{}
	}
	outer := o.pow
	o.pow = pow
	defer func() { o.pow = outer }()
	return o.expr(e, before)
}

func (o *oracle) expr(e syntax.Expr, before int) known {
	if o.asked++; o.depth >= oracleDepth || o.asked > oracleParts {
		return known{}
	}
	o.depth++
	defer func() { o.depth-- }()
	switch e := e.(type) {
	case *syntax.Ident:
		return o.name(e.Name, before)
	case *syntax.ParenExpr:
		return o.expr(e.X, before)
	case *syntax.Literal:
		return constant(e)
	case *syntax.DotExpr:
		return o.attribute(o.expr(e.X, before), e.Name.Name)
	case *syntax.CallExpr:
		if f := o.expr(e.Fn, before); f.call != nil {
			return known{typ: f.call.Gives}
		}
	case *syntax.IndexExpr:
		return o.index(o.expr(e.X, before), o.expr(e.Y, before))
	case *syntax.SliceExpr:
		return known{typ: o.expr(e.X, before).typ}
	case *syntax.UnaryExpr:
		return o.unary(e, before)
	case *syntax.BinaryExpr:
		x, y := o.expr(e.X, before), o.expr(e.Y, before)
		if o.pow[at(e.OpPos)] {
			return known{typ: x.typ}
		}
		return o.binary(e.Op, x, y)
	case *syntax.CondExpr:
		return known{typ: o.expr(e.True, before).typ}
	case *syntax.ListExpr:
		return known{typ: "list"}
	case *syntax.TupleExpr:
		return known{typ: "tuple"}
	case *syntax.DictExpr:
		return known{typ: "dict"}
	case *syntax.Comprehension:
		if e.Curly {
			return known{typ: "dict"}
		}
		return known{typ: "list"}
	}
	return known{}
}

func constant(e *syntax.Literal) known {
	switch v := e.Value.(type) {
	case string:
		if e.Token == syntax.STRING {
			return valued(starlark.String(v))
		}
	case int64:
		return valued(starlark.MakeInt64(v))
	case float64:
		return valued(starlark.Float(v))
	}
	return known{}
}

// name tells what a name is: by the last assignment before the token in the source itself, which has not
// run yet, else by what the session holds.
func (o *oracle) name(name string, before int) known {
	if k, ok := o.assigned(name, before); ok {
		return k
	}
	v, _ := o.s.Lookup(name)
	return valued(v)
}

// assigned looks for the last statement before the token that binds the name; ok is false when there is
// none whose value can be told.
func (o *oracle) assigned(name string, before int) (k known, ok bool) {
	p := o.p
	for i := min(before, len(p.tokens)) - 1; i >= 0; i-- {
		if p.tokens[i].kind != nameToken || p.tokens[i].text != name || !p.beginsStatement(i) {
			continue
		}
		if !p.assigns(i + 1) {
			continue
		}
		end := p.statementEnd(i + 2)
		if end > before || end <= i+2 { // the statement that is being written
			continue
		}
		k = o.text(p.text(span{i + 2, end - 1}), i)
		return k, k.typ != "" || k.call != nil
	}
	return known{}, false
}

// beginsStatement reports whether token i is the first of a line.
func (p *place) beginsStatement(i int) bool {
	return i == 0 || p.tokens[i-1].kind == newlineToken || p.tokens[i-1].is(";")
}

// statementEnd returns the token behind the statement that goes on with token i.
func (p *place) statementEnd(i int) int {
	depth := 0
	for ; i < len(p.tokens); i++ {
		switch t := p.tokens[i]; {
		case t.is("("), t.is("["), t.is("{"):
			depth++
		case t.is(")"), t.is("]"), t.is("}"):
			depth--
		case depth <= 0 && (t.kind == newlineToken || t.is(";") || t.kind == commentToken):
			return i
		}
	}
	return i
}

// outline returns what is known of a type, never nil.
func (o *oracle) outline(typ string) *Outline {
	if o.s.config.Outline != nil {
		if out := o.s.config.Outline(typ); out != nil {
			return out
		}
	}
	return &Outline{}
}

func (l *Outline) attribute(name string) *Attribute {
	for i := range l.Attributes {
		if l.Attributes[i].Name == name {
			return &l.Attributes[i]
		}
	}
	return nil
}

// attribute tells what x.name is. It reads the attribute of a value only where that computes nothing.
func (o *oracle) attribute(x known, name string) known {
	a := o.outline(x.typ).attribute(name)
	var k known
	if h, ok := x.value.(starlark.HasAttrs); ok && (a != nil && (a.Held || a.Call != nil) || ownType(x.value)) {
		if v, err := h.Attr(name); err == nil && v != nil {
			k = valued(v)
		}
	} else if h := zero(x.typ); x.value == nil && h != nil {
		if v, err := h.Attr(name); err == nil && v != nil {
			k = valued(v)
			k.value = nil
		}
	}
	k.owner, k.attr, k.from = x.typ, a, x.value
	if a != nil && k.call == nil {
		k.call = a.Call
	}
	if a != nil && k.typ == "" {
		k.typ = a.Gives
	}
	return k
}

// ownType reports whether v is of a type of the language itself, whose attributes are methods.
func ownType(v starlark.Value) bool { return zero(v.Type()) != nil }

// zero returns a value of a type of the language that has methods, or nil.
func zero(typ string) starlark.HasAttrs {
	switch typ {
	case "string":
		return starlark.String("")
	case "bytes":
		return starlark.Bytes("")
	case "list":
		return new(starlark.List)
	case "dict":
		return new(starlark.Dict)
	case "set":
		return new(starlark.Set)
	}
	return nil
}

func (o *oracle) index(x, y known) known {
	var v starlark.Value
	switch c := x.value.(type) {
	case starlark.Tuple, *starlark.List:
		i, err := starlark.AsInt32(orNone(y.value))
		c2 := c.(starlark.Indexable)
		if _, list := c.(*starlark.List); err == nil && (!list || o.still) {
			if n := c2.Len(); i < 0 {
				i += n
			}
			if i >= 0 && i < c2.Len() {
				v = c2.Index(i)
			}
		}
	case *starlark.Dict:
		if key, ok := y.value.(starlark.String); ok && o.still {
			v, _, _ = c.Get(key) // a text is hashable
		}
	}
	if v != nil {
		return valued(v)
	}
	return known{typ: o.outline(x.typ).Item}
}

func orNone(v starlark.Value) starlark.Value {
	if v == nil {
		return starlark.None
	}
	return v
}

// plainNumber reports whether v is a number that takes no time to reckon with.
func plainNumber(v starlark.Value) bool {
	switch v := v.(type) {
	case starlark.Int:
		return bitLen(v) <= 64
	case starlark.Float:
		return true
	}
	return false
}

func light(v starlark.Value) bool { _, ok := v.(Light); return ok || plainNumber(v) }

func (o *oracle) unary(e *syntax.UnaryExpr, before int) known {
	x := o.expr(e.X, before)
	if e.Op == syntax.NOT {
		return known{typ: "bool"}
	}
	if x.value != nil && light(x.value) {
		if v, err := starlark.Unary(e.Op, x.value); err == nil {
			return valued(v)
		}
	}
	return known{typ: x.typ}
}

// binary reckons with what is light, and takes for the type of anything else that of the heavier operand:
// a series times a number is a series.
func (o *oracle) binary(op syntax.Token, x, y known) known {
	switch op {
	case syntax.EQL, syntax.NEQ, syntax.LT, syntax.LE, syntax.GT, syntax.GE, syntax.IN, syntax.NOT_IN:
		return known{typ: "bool"}
	case syntax.PLUS, syntax.MINUS, syntax.STAR, syntax.SLASH:
		if x.value != nil && y.value != nil && light(x.value) && light(y.value) {
			if v, err := starlark.Binary(op, x.value, y.value); err == nil {
				return valued(v)
			}
			return known{}
		}
	}
	if x.typ == "" || x.typ == "int" || x.typ == "float" || x.value != nil && light(x.value) && y.typ != "" {
		return known{typ: y.typ}
	}
	return known{typ: x.typ}
}
