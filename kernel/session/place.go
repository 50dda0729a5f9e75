package session

import "slices"

// place is where a cursor stands in source that may be unfinished.
type place struct {
	src    []rune
	tokens []token
	cursor int
	here   int     // the token that the cursor is in or at the end of; -1 between tokens
	before int     // the last token that ends before the cursor, here excluded, without comments; -1
	frames []frame // the brackets around the cursor, outermost first
}

// frame is an open bracket as it stands at the cursor.
type frame struct {
	open    int    // its token
	item    int    // the token that the item around the cursor begins with, or may
	placed  int    // the items before that one, those with a keyword left out
	keyword string // of the item, "" when it has none
	colon   bool   // stands in the item: of a dict, the cursor is behind the key
	given   *[]string
}

// locate finds the place of a cursor, a count of code points.
func locate(source string, cursor int) place {
	p := place{src: []rune(source), here: -1, before: -1}
	p.cursor = min(max(cursor, 0), len(p.src))
	if len(source) > sourceSize {
		source, p.src, p.cursor = "", nil, 0 // no cell: it would not run either
	}
	p.tokens = scan(source)
	for i, t := range p.tokens {
		if t.start >= p.cursor {
			break
		}
		switch {
		case t.end > p.cursor, t.end == p.cursor && t.holdsEnd():
			p.here = i
		case t.kind != commentToken:
			p.before = i
		}
	}
	p.bracket()
	return p
}

// holdsEnd reports whether what is typed at the end of the token belongs to it.
func (t token) holdsEnd() bool {
	switch t.kind {
	case nameToken, numberToken, commentToken:
		return true
	case stringToken:
		return !t.closed
	}
	return false
}

// bracket finds the brackets around the cursor, and the keywords given in each, behind the cursor too.
func (p *place) bracket() {
	var stack []*frame
	taken := false
	take := func() {
		if !taken {
			taken = true
			for _, f := range stack {
				p.frames = append(p.frames, *f)
			}
		}
	}
	for i, t := range p.tokens {
		if t.start >= p.cursor || i == p.here {
			take()
		}
		if t.kind != operatorToken {
			p.keyword(stack, i)
			continue
		}
		top := len(stack) - 1
		switch t.text {
		case "(", "[", "{":
			stack = append(stack, &frame{open: i, item: i + 1, given: new([]string)})
		case ")", "]", "}":
			if top >= 0 {
				stack = stack[:top]
			}
		case ",":
			if top >= 0 {
				f := stack[top]
				if f.keyword == "" {
					f.placed++
				}
				f.item, f.keyword, f.colon = i+1, "", false
			}
		case ":":
			if top >= 0 {
				stack[top].colon = true
			}
		}
	}
	take()
}

// keyword notes that token i names the argument it begins.
func (p *place) keyword(stack []*frame, i int) {
	if len(stack) == 0 {
		return
	}
	f := stack[len(stack)-1]
	t := p.tokens[i]
	switch {
	case t.kind == newlineToken || t.kind == commentToken:
		if f.item == i {
			f.item++ // an item begins behind them
		}
	case t.kind == nameToken && f.item == i && p.assigns(i+1) && i != p.here:
		f.keyword = t.text
		*f.given = append(*f.given, t.text)
	}
}

// assigns reports whether token i is a single =.
func (p *place) assigns(i int) bool {
	if i >= len(p.tokens) || !p.tokens[i].is("=") {
		return false
	}
	return i+1 >= len(p.tokens) || !p.tokens[i+1].is("=") || p.tokens[i+1].start > p.tokens[i].end
}

// call returns the innermost call around the cursor: the frame of its arguments, and the tokens of what
// is called. Inside is how many brackets of its arguments stand around the cursor besides.
func (p *place) call() (f *frame, callee span, inside int, ok bool) {
	for i := len(p.frames) - 1; i >= 0; i-- {
		f := &p.frames[i]
		if !p.tokens[f.open].is("(") {
			continue
		}
		if callee, ok := p.primary(f.open - 1); ok && !p.defines(callee) {
			return f, callee, len(p.frames) - 1 - i, true
		}
	}
	return nil, span{}, 0, false
}

// defines reports whether the name is that of a def.
func (p *place) defines(s span) bool {
	return s.first > 0 && p.tokens[s.first-1].kind == nameToken && p.tokens[s.first-1].text == "def"
}

// span is a run of tokens, both included.
type span struct{ first, last int }

// primary returns the operand that ends with the token: a name or a literal with the attributes, calls
// and indexes that follow it.
func (p *place) primary(last int) (span, bool) {
	s := span{last: last}
	for i := last; i >= 0; {
		t := p.tokens[i]
		switch {
		case t.is(")"), t.is("]"), t.is("}"):
			open := p.opening(i)
			if open < 0 {
				return s, false
			}
			if t.is("}") || !p.endsOperand(open-1) {
				s.first = open
				return s, true
			}
			i = open - 1
		case t.kind == nameToken && !reservedName[t.text]:
			dot := i - 1
			if dot < 1 || !p.tokens[dot].is(".") || !p.endsOperand(dot-1) {
				s.first = i
				return s, dot < 0 || !p.tokens[dot].is(".")
			}
			i = dot - 1
		case t.kind == stringToken && t.closed, t.kind == numberToken:
			s.first = i
			return s, true
		default:
			return s, false
		}
	}
	return s, false
}

// endsOperand reports whether an attribute, a call or an index may follow token i.
func (p *place) endsOperand(i int) bool {
	if i < 0 {
		return false
	}
	switch t := p.tokens[i]; t.kind {
	case nameToken:
		return !reservedName[t.text]
	case stringToken:
		return t.closed
	case operatorToken:
		return t.text == ")" || t.text == "]" || t.text == "}"
	}
	return false
}

// opening returns the bracket that token i closes, or -1.
func (p *place) opening(i int) int {
	depth := 0
	for ; i >= 0; i-- {
		switch t := p.tokens[i]; {
		case t.is(")"), t.is("]"), t.is("}"):
			depth++
		case t.is("("), t.is("["), t.is("{"):
			if depth--; depth == 0 {
				return i
			}
		}
	}
	return -1
}

// text returns the source of a span.
func (p *place) text(s span) string {
	return string(p.src[p.tokens[s.first].start:p.tokens[s.last].end])
}

// languageWords are the keywords of the language of cells.
var languageWords = []string{"and", "break", "continue", "def", "elif", "else", "for", "if", "in", "lambda", "not",
	"or", "pass", "return", "while"}

// reservedName are the names that are no operand.
var reservedName = func() map[string]bool {
	m := map[string]bool{}
	for _, w := range languageWords {
		m[w] = true
	}
	return m
}()

// factorHere reports whether what is written at the cursor multiplies or divides something.
func (p *place) factorHere() bool {
	return p.before > 0 && (p.tokens[p.before].is("*") || p.tokens[p.before].is("/")) && p.operand(p.before-1)
}

func (p *place) operand(i int) bool { return p.endsOperand(i) || p.tokens[i].kind == numberToken }

// beginsItem reports whether what is typed at the cursor begins an item of the frame.
func (p *place) beginsItem(f *frame) bool {
	for i := f.item; i < len(p.tokens) && i != p.here && p.tokens[i].start < p.cursor; i++ {
		if k := p.tokens[i].kind; k != newlineToken && k != commentToken {
			return false
		}
	}
	return f.keyword == "" && !f.colon
}

// localNames are the names that the source around the cursor binds, in its order.
func (p *place) localNames() []string {
	var names []string
	add := func(i int) {
		if i != p.here && i < len(p.tokens) && p.tokens[i].kind == nameToken && !reservedName[p.tokens[i].text] &&
			!slices.Contains(names, p.tokens[i].text) {
			names = append(names, p.tokens[i].text)
		}
	}
	depth := 0
	for i, t := range p.tokens {
		switch {
		case t.is("("), t.is("["), t.is("{"):
			depth++
		case t.is(")"), t.is("]"), t.is("}"):
			depth = max(depth-1, 0)
		case t.kind == nameToken && depth == 0 && p.assigns(i+1):
			add(i)
		case t.kind == nameToken && t.text == "for":
			for j := i + 1; j < len(p.tokens) && p.tokens[j].text != "in" && p.tokens[j].kind != newlineToken; j++ {
				add(j)
			}
		case t.kind == nameToken && t.text == "def":
			add(i + 1)
			names = p.parameterNames(i+2, names)
		case t.kind == nameToken && t.text == "lambda":
			for j := i + 1; j < len(p.tokens) && !p.tokens[j].is(":") && p.tokens[j].kind != newlineToken; j++ {
				add(j)
			}
		}
	}
	return names
}

// parameterNames appends the parameters in the brackets that token i opens.
func (p *place) parameterNames(i int, names []string) []string {
	if i >= len(p.tokens) || !p.tokens[i].is("(") {
		return names
	}
	depth := 1
	for i++; i < len(p.tokens) && depth > 0; i++ {
		switch t := p.tokens[i]; {
		case t.is("("), t.is("["), t.is("{"):
			depth++
		case t.is(")"), t.is("]"), t.is("}"):
			depth--
		case t.kind == nameToken && depth == 1 && i != p.here && !p.assignedBefore(i) && !slices.Contains(names,
			t.text):
			names = append(names, t.text)
		}
	}
	return names
}

// assignedBefore reports whether token i is a default and not a parameter.
func (p *place) assignedBefore(i int) bool {
	prev := p.tokens[i-1]
	return !prev.is("(") && !prev.is(",") && !prev.is("*") && prev.kind != newlineToken
}
