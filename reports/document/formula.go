package document

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Formula sets the part of TeX's mathematics that running text needs, as spans: letters and Greek, numbers,
// signs, sub- and superscripts, simple fractions and roots, names of functions and upright text. A fraction
// stands on one line, in brackets where it must. ok is false for anything else (matrices, accents, sums
// with bounds, fractions within fractions): such a formula is better shown as written than set wrongly.
func Formula(tex string) (spans []Span, ok bool) {
	f := formula{rest: tex}
	spans, ok = f.sequence(0, "")
	if !ok || f.rest != "" || len(spans) == 0 {
		return nil, false
	}
	spans = joinSpans(tidy(spans))
	plain := PlainText(spans)
	for i := range spans {
		spans[i].Formula = plain
	}
	return spans, true
}

// formula reads TeX from left to right.
type formula struct {
	rest  string
	depth int
}

// token is one command, brace or character.
func (f *formula) token() string {
	f.rest = strings.TrimLeft(f.rest, " \t\n")
	if f.rest == "" {
		return ""
	}
	n := 0
	if f.rest[0] == '\\' {
		n = 1
		for n < len(f.rest) && isLetter(f.rest[n]) {
			n++
		}
		if n == 1 && len(f.rest) > 1 { // a sign: \, \% \{
			_, k := utf8.DecodeRuneInString(f.rest[1:])
			n += k
		}
	} else {
		_, n = utf8.DecodeRuneInString(f.rest)
	}
	t := f.rest[:n]
	f.rest = f.rest[n:]
	return t
}

func isLetter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }

// sequence sets tokens up to the closing one, which it takes; "" is the end.
func (f *formula) sequence(style Style, closing string) ([]Span, bool) {
	const deepest = 20
	if f.depth++; f.depth > deepest {
		return nil, false
	}
	defer func() { f.depth-- }()
	var out []Span
	name := false // whether the last token that is no script was the name of a function
	for {
		t := f.token()
		switch {
		case t == closing:
			return out, true
		case t == "", t == "}":
			return nil, false
		}
		script := t == "_" || t == "^"
		// Names stand a space apart from what they multiply and from what they are taken of.
		if apart := isFunction(t) || name && !script && !strings.Contains("({[|", t[:1]) && t != `\left`; apart &&
			len(out) > 0 {
			out = append(out, Span{Text: " ", Style: style})
		}
		more, ok := f.atom(t, style)
		if !ok {
			return nil, false
		}
		out = append(out, more...)
		name = isFunction(t) || name && script
	}
}

func isFunction(token string) bool {
	name, command := strings.CutPrefix(token, `\`)
	return command && slices.Contains(functions, name)
}

// atom sets what begins with a token.
func (f *formula) atom(t string, style Style) ([]Span, bool) {
	one := func(s string, more Style) ([]Span, bool) { return []Span{{Text: s, Style: style | more}}, true }
	if s, ok := letters[t]; ok {
		return one(s, Italic)
	}
	if s, ok := upright[t]; ok {
		return one(s, 0)
	}
	if s, ok := relations[t]; ok {
		if style&(Sub|Super) != 0 {
			return one(s, 0)
		}
		return one(" "+s+" ", 0)
	}
	switch t {
	case "{":
		return f.sequence(style, "}")
	case "_", "^":
		if style&(Sub|Super) != 0 {
			return nil, false // a third level is too small to read
		}
		if t == "_" {
			return f.argument(style | Sub)
		}
		return f.argument(style | Super)
	case `\left`, `\right`:
		switch b := f.token(); {
		case b == "":
			return nil, false
		case b == ".":
			return nil, true // the side without a bracket
		default:
			return f.atom(b, style)
		}
	case `\frac`, `\tfrac`, `\dfrac`:
		return f.fraction(style)
	case `\sqrt`:
		under, ok := f.argument(style)
		if !ok || strings.HasPrefix(PlainText(under), "[") {
			return nil, false
		}
		return slices.Concat([]Span{{Text: "√", Style: style}}, bracket(under, style, false)), true
	case `\text`, `\mathrm`, `\operatorname`, `\textrm`, `\mathbf`, `\textbf`:
		s, ok := f.verbatim()
		if !ok {
			return nil, false
		}
		if strings.HasSuffix(t, "bf") {
			return one(s, Bold)
		}
		return one(s, 0)
	}
	if isFunction(t) {
		return one(t[1:], 0)
	}
	r, _ := utf8.DecodeRuneInString(t)
	switch {
	case t[0] == '\\' || strings.ContainsRune("&#%$~", r):
		return nil, false // a command that is not known here, or TeX's own signs
	case unicode.IsLetter(r):
		return one(t, Italic)
	}
	return one(t, 0)
}

// argument sets the braces or the one token that follow.
func (f *formula) argument(style Style) ([]Span, bool) {
	t := f.token()
	if t == "" || t == "}" || t == "_" || t == "^" {
		return nil, false
	}
	out, ok := f.atom(t, style)
	return tidy(out), ok && len(out) > 0
}

// verbatim returns the text in the braces that follow, spaces included.
func (f *formula) verbatim() (string, bool) {
	if f.token() != "{" {
		return "", false
	}
	s, rest, ok := strings.Cut(f.rest, "}")
	if !ok || strings.ContainsAny(s, `\{$`) {
		return "", false
	}
	f.rest = rest
	return s, true
}

// fraction sets a fraction on the line.
func (f *formula) fraction(style Style) ([]Span, bool) {
	before := f.rest
	above, ok1 := f.argument(style)
	below, ok2 := f.argument(style)
	if !ok1 || !ok2 || strings.Contains(before[:len(before)-len(f.rest)], "frac") {
		return nil, false
	}
	return slices.Concat(bracket(above, style, true), []Span{{Text: "/", Style: style}}, bracket(below, style, true)),
		true
}

// bracket puts brackets around what would be read otherwise beside a stroke or after a root. A product may
// stand above the stroke as it is, but not after a root.
func bracket(spans []Span, style Style, fraction bool) []Span {
	base, signs := "", 0
	for _, s := range spans {
		if s.Style&(Sub|Super)&^style == 0 {
			base += s.Text
		}
	}
	for _, r := range base {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '.' && r != '′' {
			signs++
		}
	}
	number := strings.Trim(base, "0123456789.") == ""
	if number || utf8.RuneCountInString(base) == 1 || signs == 0 && len(spans) == 1 && spans[0].Style&Italic == 0 {
		return spans
	}
	if inner := strings.TrimSuffix(strings.TrimPrefix(base, "("), ")"); len(inner) == len(base)-2 &&
		!strings.ContainsAny(inner, "()") {
		return spans // it has brackets
	}
	return slices.Concat([]Span{{Text: "(", Style: style}}, spans, []Span{{Text: ")", Style: style}})
}

// tidy drops spaces at both ends and joins doubled ones; a sign without a left side takes none.
func tidy(spans []Span) []Span {
	out := slices.Clone(spans)
	blank := true // whether a space here would follow a space, a bracket or nothing
	for i := range out {
		s := out[i].Text
		if blank {
			sign := strings.HasPrefix(s, " − ") || strings.HasPrefix(s, " + ") || strings.HasPrefix(s, " ± ")
			s = strings.TrimLeft(s, " ")
			if sign {
				s = strings.TrimRight(s, " ")
			}
		}
		out[i].Text = s
		if s != "" {
			blank = strings.HasSuffix(s, " ") || strings.HasSuffix(s, "(")
		}
	}
	for i := len(out) - 1; i >= 0; i-- {
		out[i].Text = strings.TrimRight(out[i].Text, " ")
		if out[i].Text != "" {
			break
		}
	}
	return slices.DeleteFunc(out, func(s Span) bool { return s.Text == "" })
}

// joinSpans joins neighbours of one style.
func joinSpans(spans []Span) []Span {
	var out []Span
	for _, s := range spans {
		if k := len(out) - 1; k >= 0 && out[k].Style == s.Style && out[k].Link == s.Link {
			out[k].Text += s.Text
			continue
		}
		out = append(out, s)
	}
	return out
}
