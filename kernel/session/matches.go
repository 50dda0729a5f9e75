package session

import (
	"slices"
	"strings"

	"go.starlark.net/starlark"
)

// Complete returns what may stand at the cursor, a count of code points from the start of the source. It
// runs nothing, may be called while a cell runs, and gives no matches rather than an error.
func (s *Session) Complete(source string, cursor int) (c Completion) {
	p := locate(source, cursor)
	nothing := Completion{Start: p.cursor, End: p.cursor}
	defer func() {
		if recover() != nil { // a value that cannot tell of itself; its own call will say so
			c = nothing
		}
	}()
	o, release := s.oracle(&p)
	defer release()
	c = Completion{Start: p.cursor, End: p.cursor}
	if p.here >= 0 {
		c.Start = p.tokens[p.here].start
		switch t := p.tokens[p.here]; t.kind {
		case commentToken, numberToken:
			return nothing
		case stringToken:
			c.Start += t.quotes
			if c.Start > p.cursor {
				return nothing
			}
			c.Matches = o.texts()
		}
	}
	typed := string(p.src[c.Start:p.cursor])
	switch {
	case c.Matches != nil || p.inString():
	case p.before >= 0 && p.tokens[p.before].is("."):
		c.Matches = o.attributes(p.before - 1)
	case p.before >= 0 && p.tokens[p.before].kind == nameToken && p.tokens[p.before].text == "def":
		return nothing
	default:
		c.Matches = o.names(typed)
	}
	c.Matches = chosen(c.Matches, typed)
	return c
}

func (p *place) inString() bool { return p.here >= 0 && p.tokens[p.here].kind == stringToken }

// oracle returns the oracle of a place; release ends its use.
func (s *Session) oracle(p *place) (o *oracle, release func()) {
	o = &oracle{s: s, p: p, still: s.turn.tryTake()}
	if o.still {
		return o, s.turn.give
	}
	return o, func() {}
}

// chosen keeps the matches that go on from what is typed, each text once; the first one counts.
func chosen(list []Match, typed string) []Match {
	seen := map[string]bool{}
	return slices.DeleteFunc(list, func(m Match) bool {
		out := seen[m.Text] || !strings.HasPrefix(m.Text, typed)
		seen[m.Text] = true
		return out
	})
}

// attributes lists those of the operand that ends with token i.
func (o *oracle) attributes(i int) []Match {
	s, ok := o.p.primary(i)
	if !ok {
		return nil
	}
	x := o.span(s)
	outline := o.outline(x.typ)
	var names []string
	if h, ok := x.value.(starlark.HasAttrs); ok {
		names = h.AttrNames()
	} else if h := zero(x.typ); h != nil {
		names = h.AttrNames()
	} else {
		for _, a := range outline.Attributes {
			names = append(names, a.Name)
		}
	}
	own := zero(x.typ) != nil
	var list []Match
	for _, name := range names {
		m := Match{Text: name, Kind: AttributeMatch}
		if a := outline.attribute(name); a != nil {
			m.Detail = a.Summary
			if a.Call != nil {
				m.Kind = MethodMatch
			}
		} else if own {
			m.Kind, m.Detail = MethodMatch, builtinDocs[x.typ+"."+name].summary
		}
		list = append(list, m)
	}
	return list
}

// names lists what may stand where a name does, the likeliest first.
func (o *oracle) names(typed string) []Match {
	var list []Match
	if f, callee, inside, ok := o.p.call(); ok && inside == 0 {
		k := o.span(callee)
		if o.p.alone() || o.p.before == f.open {
			list = o.suggested(k, f, Site{})
		}
		if typed == "" && len(list) > 0 && list[0].Kind == UnitMatch {
			return list // nothing else will do
		}
		if o.p.beginsItem(f) && k.call != nil {
			list = append(list, o.keywords(k.call, f)...)
		}
	}
	factor := o.p.factorHere()
	var others []Match
	for _, name := range o.s.Names() {
		v, _ := o.s.Lookup(name)
		m := o.s.nameMatch(name, v)
		if m.Kind == UnitMatch && factor {
			list = append(list, m)
			continue
		}
		others = append(others, m)
	}
	if factor && typed == "" && len(list) > 0 {
		return list
	}
	for _, name := range o.p.localNames() {
		if _, ok := o.s.Lookup(name); !ok {
			list = append(list, Match{Text: name, Kind: NameMatch, Detail: "assigned in this cell"})
		}
	}
	list = append(list, others...)
	if factor {
		return list
	}
	for _, w := range languageWords {
		list = append(list, Match{Text: w, Kind: KeywordMatch})
	}
	return list
}

func (s *Session) nameMatch(name string, v starlark.Value) Match {
	m := Match{Text: name, Kind: NameMatch}
	if b, ok := v.(*starlark.Builtin); ok {
		m.Detail = builtinDocs[b.Name()].summary
		return m
	}
	if x, ok := v.(Summarizer); ok {
		m.Detail = x.Summary()
	} else if v != nil {
		m.Detail = v.Type()
	}
	if x, ok := v.(Light); ok && x.Factor() {
		m.Kind = UnitMatch
	} else if v != nil && s.pristine[name] == v {
		m.Kind = WordMatch
	}
	return m
}

// keywords lists the arguments that the call does not give yet.
func (o *oracle) keywords(sig *Signature, f *frame) []Match {
	var list []Match
	placed := 0
	for _, par := range sig.Parameters {
		if par.Place >= AllFurther {
			continue
		}
		if par.Place == ByPosition {
			if placed++; placed <= f.placed {
				continue
			}
		}
		if !slices.Contains(*f.given, par.Name) {
			list = append(list, Match{Text: par.Name + "=", Kind: ArgumentMatch, Detail: par.Detail})
		}
	}
	return list
}

// parameter returns the parameter that the item of the frame is given for, or nil.
func (sig *Signature) parameter(f *frame) *Parameter {
	placed := 0
	var rest *Parameter
	for i := range sig.Parameters {
		par := &sig.Parameters[i]
		switch {
		case f.keyword != "":
			if par.Name == f.keyword && par.Place < AllFurther {
				return par
			}
			if par.Place == AnyName {
				rest = par
			}
		case par.Place == AllFurther:
			return par
		case par.Place == ByPosition:
			if placed++; placed > f.placed {
				return par
			}
		}
	}
	return rest
}

// suggested asks the parameter of the item at the cursor what may be given for it.
func (o *oracle) suggested(k known, f *frame, site Site) []Match {
	if k.call == nil {
		return nil
	}
	par := k.call.parameter(f)
	if par == nil || par.Suggest == nil {
		return nil
	}
	site.Receiver = k.from
	if site.Receiver == nil && k.attr != nil {
		site.Receiver = starlark.None // a method of something that is not there yet
	}
	site.Argument = func(name string) starlark.Value { return o.argument(k.call, f, name) }
	site.Values = o.values()
	site.Local = func(key string) any { return o.s.config.Local[key] }
	return par.Suggest(site)
}

// values are what the names of the session hold, words and functions left out.
func (o *oracle) values() []Named {
	var list []Named
	for _, name := range o.s.Names() {
		v, _ := o.s.Lookup(name)
		if _, ok := v.(starlark.Callable); v != nil && !ok && o.s.pristine[name] != v {
			list = append(list, Named{name, v})
		}
	}
	return list
}

// argument returns the value of another argument of the call, nil when it is not given or not there yet.
func (o *oracle) argument(sig *Signature, f *frame, name string) starlark.Value {
	p := o.p
	depth, start, placed := 0, f.open+1, 0
	for i := f.open + 1; i <= len(p.tokens); i++ {
		ends := i == len(p.tokens)
		if !ends {
			switch t := p.tokens[i]; {
			case t.is("("), t.is("["), t.is("{"):
				depth++
			case t.is(")"), t.is("]"), t.is("}"):
				depth--
				ends = depth < 0
			case t.is(","):
				ends = depth == 0
			}
		}
		if !ends {
			continue
		}
		item := frame{placed: placed}
		first := start
		if start+1 < i && p.tokens[start].kind == nameToken && p.assigns(start+1) {
			item.keyword, first = p.tokens[start].text, start+2
		} else {
			placed++
		}
		if par := sig.parameter(&item); par != nil && par.Name == name && first < i {
			return o.text(p.text(span{first, i - 1}), f.open).value
		}
		if depth < 0 {
			break
		}
		start = i + 1
	}
	return nil
}

// texts lists what may stand in the string at the cursor: the argument of a call, the index of a value, or
// the key of a dict.
func (o *oracle) texts() []Match {
	p := o.p
	if n := len(p.frames); n > 0 && p.tokens[p.frames[n-1].open].is("[") {
		if s, ok := p.primary(p.frames[n-1].open - 1); ok {
			return o.keys(o.span(s))
		}
	}
	site := Site{Quoted: true}
	if n := len(p.frames); n > 0 && p.tokens[p.frames[n-1].open].is("{") {
		if site.Key = !p.frames[n-1].colon; !site.Key {
			return nil
		}
	}
	if f, callee, inside, ok := p.call(); ok && (inside == 0 || !p.apart(f)) {
		if !p.alone() {
			return nil
		}
		if p.loads(f, callee) && o.s.config.Loads != nil {
			site.Local = func(key string) any { return o.s.config.Local[key] }
			return o.s.config.Loads(site)
		}
		if list := o.suggested(o.span(callee), f, site); list != nil {
			return list
		}
	}
	if site.Key && o.s.config.Keys != nil {
		site.Values = o.values()
		return o.s.config.Keys(site)
	}
	return nil
}

// loads reports whether the cursor is in the first argument of load, which is a statement and no name.
func (p *place) loads(f *frame, callee span) bool {
	return callee.first == callee.last && p.tokens[callee.first].text == "load" && p.here == f.open+1
}

// apart reports whether an operator stands between the call and the string, so that the string is not the
// argument itself: it belongs to a condition or a sum.
func (p *place) apart(f *frame) bool {
	for i := f.item; i < p.here; i++ {
		t := p.tokens[i]
		if t.kind == nameToken && reservedName[t.text] || t.is("%") || t.is("+") || t.is("<") || t.is(">") ||
			t.is("!") {
			return true
		}
	}
	return false
}

// alone reports whether the string begins what it is an item of: behind an operator it is part of
// something else.
func (p *place) alone() bool {
	if p.before < 0 {
		return true
	}
	switch t := p.tokens[p.before]; t.kind {
	case operatorToken:
		return strings.Contains("([{,:=", t.text) && !p.compares(p.before)
	case newlineToken:
		return true
	}
	return false
}

// compares reports whether the = at token i is half of ==, <=, >= or !=.
func (p *place) compares(i int) bool {
	return i > 0 && p.tokens[i].is("=") && p.tokens[i-1].end == p.tokens[i].start &&
		p.tokens[i-1].kind == operatorToken &&
		strings.Contains("=<>!", p.tokens[i-1].text)
}

// keys lists the texts that x is indexed with.
func (o *oracle) keys(x known) []Match {
	switch v := x.value.(type) {
	case Keyed:
		return v.Keys()
	case *starlark.Dict:
		if !o.still {
			return nil
		}
		const most = 1000
		var list []Match
		for k := range v.Entries() {
			if text, ok := k.(starlark.String); ok && len(list) < most {
				list = append(list, Match{Text: string(text), Kind: TextMatch})
			}
		}
		return list
	}
	return nil
}
