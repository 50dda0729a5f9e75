package session

import (
	"strings"

	"go.starlark.net/starlark"

	"wedgework/reports/document"
)

// Inspect returns what is known of the thing at the cursor: a name, an attribute, an argument of a call, a
// string that is one; between things, of the function whose call is around the cursor. See Describer for
// detail. It runs nothing and may be called while a cell runs.
func (s *Session) Inspect(source string, cursor, detail int) (blocks []document.Block, found bool) {
	p := locate(source, cursor)
	defer func() {
		if recover() != nil {
			blocks, found = nil, false
		}
	}()
	o, release := s.oracle(&p)
	defer release()
	i := p.target()
	if i >= 0 {
		switch t := p.tokens[i]; t.kind {
		case commentToken:
			return nil, false
		case nameToken:
			if !reservedName[t.text] {
				blocks = o.inspectName(i, detail)
			}
		case stringToken:
			blocks = o.inspectArgument(detail)
		}
	}
	if len(blocks) == 0 && (i < 0 || p.tokens[i].kind != nameToken) {
		if _, callee, _, ok := p.call(); ok {
			blocks = o.describe(o.span(callee), detail)
		} else if p.before >= 0 && p.tokens[p.before].is(")") && p.tokens[p.before].end == p.cursor {
			if open := p.opening(p.before); open > 0 && p.endsOperand(open-1) {
				if callee, ok := p.primary(open - 1); ok {
					blocks = o.describe(o.span(callee), detail)
				}
			}
		}
	}
	return blocks, len(blocks) > 0
}

// target returns the token that the cursor points at: the one it is in, else the one that begins or ends
// there; -1 when there is none.
func (p *place) target() int {
	if p.here >= 0 {
		return p.here
	}
	for i := max(p.before, 0); i < len(p.tokens) && p.tokens[i].start <= p.cursor; i++ {
		if t := p.tokens[i]; (t.kind == nameToken || t.kind == stringToken) && t.start <= p.cursor &&
			p.cursor <= t.end {
			return i
		}
	}
	return -1
}

// inspectName tells of the name at token i.
func (o *oracle) inspectName(i, detail int) []document.Block {
	p := o.p
	attribute := i > 0 && p.tokens[i-1].is(".")
	if !attribute && p.assigns(i+1) {
		if f, callee, inside, ok := p.call(); ok && inside == 0 && p.beginsItemAt(f, i) {
			k := o.span(callee)
			if b := o.describeParameter(k, &frame{keyword: p.tokens[i].text}, detail); b != nil {
				return b
			}
			return o.describe(k, detail)
		}
	}
	s, ok := p.primary(i)
	if !ok {
		return nil
	}
	return o.describe(o.span(s), detail)
}

// beginsItemAt reports whether token i is the first of the item of the frame.
func (p *place) beginsItemAt(f *frame, i int) bool {
	for j := f.item; j < i; j++ {
		if k := p.tokens[j].kind; k != newlineToken && k != commentToken {
			return false
		}
	}
	return f.item <= i
}

// inspectArgument tells of the parameter that the string at the cursor is given for, and what the string
// itself stands for.
func (o *oracle) inspectArgument(detail int) []document.Block {
	f, callee, _, ok := o.p.call()
	if !ok {
		return nil
	}
	k := o.span(callee)
	t := o.p.tokens[o.p.target()]
	text := strings.TrimRight(string(o.p.src[min(t.start+t.quotes, t.end):t.end]), `"'`)
	var blocks []document.Block
	for _, m := range o.suggested(k, f, Site{Quoted: true}) {
		if m.Text == text && m.Detail != "" {
			blocks = append(blocks, document.Fields{Rows: []document.Field{{Name: m.Text, Value: m.Detail}}})
			break
		}
	}
	if b := o.describeParameter(k, f, detail); b != nil {
		return append(blocks, b...)
	}
	return append(blocks, o.describe(k, detail)...)
}

// describeParameter tells of one parameter of a function.
func (o *oracle) describeParameter(k known, f *frame, detail int) []document.Block {
	if k.call == nil {
		return nil
	}
	par := k.call.parameter(f)
	if par == nil {
		return nil
	}
	head := par.Name
	switch {
	case strings.HasPrefix(par.Detail, "("): // the unit
		head += " " + par.Detail
	case par.Detail != "":
		head += ": " + par.Detail
	}
	blocks := []document.Block{document.Code{Text: head}}
	if par.Doc != "" {
		blocks = append(blocks, document.Plain(par.Doc))
	}
	if detail > 0 {
		blocks = append(blocks, document.Rule{})
		blocks = append(blocks, o.describe(k, detail)...)
	}
	return blocks
}

// describe tells of what an expression is.
func (o *oracle) describe(k known, detail int) []document.Block {
	switch v := k.value.(type) {
	case nil:
		return o.describeComing(k, detail)
	case Describer:
		return v.Describe(detail)
	case *starlark.Function:
		return o.describeFunction(v, k.call)
	case *starlark.Builtin:
		return builtinBlocks(v)
	}
	var blocks []document.Block
	if k.attr != nil {
		blocks = o.describeComing(k, detail)
	}
	return append(blocks, o.describeValue(k.value, detail)...)
}

// describeComing tells of what has no value yet.
func (o *oracle) describeComing(k known, detail int) []document.Block {
	a := k.attr
	switch {
	case a != nil && a.Doc != nil:
		return a.Doc(detail)
	case a != nil:
		head := k.owner + "." + a.Name
		if a.Gives != "" {
			head += ": " + a.Gives
		}
		return []document.Block{document.Code{Text: head}, document.Plain(a.Summary)}
	case k.typ != "":
		return []document.Block{document.Code{Text: k.typ}}
	}
	return nil
}

func (o *oracle) describeFunction(f *starlark.Function, sig *Signature) []document.Block {
	var parts, named []string // Starlark lists *others behind what must be named
	for i, par := range sig.Parameters {
		part := map[Place]string{AllFurther: "*", AnyName: "**"}[par.Place] + par.Name
		if v := f.ParamDefault(i); v != nil {
			part += "=" + defaultText(v)
		}
		if par.Place == ByPosition || par.Place == AllFurther {
			parts = append(parts, part)
		} else {
			named = append(named, part)
		}
	}
	parts = append(parts, named...)
	pos := f.Position()
	blocks := []document.Block{document.Code{Text: f.Name() + "(" + strings.Join(parts, ", ") + ")"}}
	if doc := strings.TrimSpace(f.Doc()); doc != "" {
		blocks = append(blocks, document.Code{Text: doc})
	}
	return append(blocks, document.Plain("defined in "+pos.String()))
}

// describeValue tells of a value that a cell holds.
func (o *oracle) describeValue(v starlark.Value, detail int) []document.Block {
	switch c := v.(type) {
	case *starlark.List, *starlark.Dict, *starlark.Set, starlark.Tuple:
		blocks := []document.Block{document.Code{Text: v.Type()}}
		if o.still {
			blocks = []document.Block{document.Code{Text: Text(c, inspectText)}}
		}
		return blocks
	}
	if o.s.config.Describe != nil {
		if blocks := o.s.config.Describe(v, detail); blocks != nil {
			return blocks
		}
	}
	return []document.Block{document.Code{Text: v.Type() + ": " + Text(v, inspectText)}}
}

// inspectText is how many bytes of a value's text an inspection shows.
const inspectText = 2000
