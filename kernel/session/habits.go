package session

import (
	"strings"
	"unicode/utf8"
)

// What people write out of habit from other languages and from text editors, and what a cell has instead. A hint is a
// line that can be followed as it stands. Names and units are looked up in the session and in Config.Spellings, which
// knows the trade; words that the language reserves are a table of their own (wording.go).

// habit is one way of writing that the parser refuses. The hint may name groups of the pattern, as $1.
type habit struct {
	pattern pattern // over a line whose texts and comments are blanked
	hint    string
}

var habits = []habit{
	{matching(`^\s*assert\b\s*(.*)`), `write if not ...: fail("...")`},
	{matching(`^\s*@`), "a function is wrapped by a call: f = wrapper(f)"},
	{matching(`^\s*%`), "a cell has no commands that begin with %: remove the line"},
	{matching(`^\s*!`), "a cell starts no other program: remove the line"},
	{matching(`^\s*\?+\s*([\w.]+)`), "write $1? or help($1)"},
	{matching(`^\s*help\s+(\w[\w ]*\w)\s*$`), `write help("$1")`},
	{matching(`^\s*print\s+[^(\s]`), "print is a function: write print(x)"},
	{matching(`[“”„‟«»‘’‚‹›]`), `texts stand in straight quotes: "text"`},
	{matching(`[−–—]`), "the minus sign is the hyphen of the keyboard: -"},
	{matching(`[×·⋅]`), "the sign of multiplication is *"},
	{matching(`÷`), "the sign of division is /"},
	{matching(`≤`), "write <="},
	{matching(`≥`), "write >="},
	{matching(`≠`), "write !="},
	{matching(`([²³])`), "powers are written with **, as in x**2"},
	{matching(`√`), "write sqrt(x)"},
	{matching(`π`), "write pi"},
	{matching(`±`), "a value and its tolerance are written apart"},
	{matching(`\b(\d+)_(\d[\d_]*)\b`), "write the digits of a number without _"},
	{matching(`:=`), "assign on a line of its own: x = ..."},
	{matching(`&&`), "write and"},
	{matching(`\|\|`), "write or"},
	{matching(`<>`), "write !="},
	{matching(`!\s*[\w(]`), "write not"},
	{matching(`\b([A-Za-z_]\w*)(\+\+|--)`), "write $1 += 1 or $1 -= 1"},
	{matching(`^\s*def\b.*(?:->|\w\s*:\s*\w+\s*[,)=])`), "parameters have no types: write def f(a, b):"},
	{matching(`^\s*[A-Za-z_]\w*\s*:\s*[A-Za-z_][\w.\[\]]*\s*(?:=|$)`), "names have no types: write x = 3"},
	{matching(`\{[^:{}]*,[^:{}]*\}|\{\s*[^:{}\s][^:{}]*\}`), "a set is written set([1, 2])"},
}

// measure is a number with what looks like a unit behind it, as in 1550nm, 5 deg, 45°.
var measure = matching(`(?:^|[^\w.])(\d[\d.]*(?:[eE][-+]?\d+)?)\s*(°\s?[CF]?|[A-Za-zµμΩÅ%][\wµμ]*)`)

// habitual returns a hint for a line that the parser refuses, or "".
func (s *Session) habitual(line string) string {
	line = blanked(line)
	for _, m := range measure().FindAllStringSubmatch(line, -1) {
		if word := s.spelled(strings.ReplaceAll(m[2], " ", "")); word != "" {
			return "a quantity is a number times a unit: write " + m[1] + "*" + word
		}
	}
	for _, h := range habits {
		if m := h.pattern().FindStringSubmatchIndex(line); m != nil {
			return string(h.pattern().ExpandString(nil, h.hint, line, m))
		}
	}
	return ""
}

// spelled returns the name of the session that a text stands for: itself, or one that Config.Spellings gives for it;
// "" when there is none.
func (s *Session) spelled(text string) string {
	if _, known := s.config.Words[text]; known {
		return text
	}
	if to := s.config.Spellings[text]; !strings.Contains(to, " ") {
		return to
	}
	return ""
}

// instead is what to write for a name that is unknown, as the end of a sentence and as a hint; both may be empty.
func (s *Session) instead(name string) (meaning, hint string) {
	to, ok := s.config.Spellings[name]
	switch {
	case !ok:
		return "", ""
	case strings.Contains(to, " "):
		return "", to
	}
	return meant("", to), ""
}

// blanked is a line with the insides of its texts and its comment replaced, so that patterns see the code alone.
func blanked(line string) string {
	runes := []rune(line)
	for _, t := range scan(line) {
		if t.kind != stringToken {
			continue
		}
		for i := t.start + 1; i < t.end-1 && i < len(runes); i++ {
			runes[i] = 'a'
		}
	}
	text := string(runes)
	if i := strings.IndexByte(text, '#'); i >= 0 && utf8.ValidString(text[:i]) {
		text = text[:i]
	}
	return text
}
