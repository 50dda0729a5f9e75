package session

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.starlark.net/starlark"
)

// The methods of strings that can take long or make much of a long string, with what they take and make: the library
// does each in one go.

// mostPieces is how many a text is cut into: a tenth of a second (a choice).
const mostPieces = 1 << 19

// cut is s.split(at, most), s.rsplit(at, most) and s.splitlines().
func (g guard) cut(s starlark.String, f *starlark.Builtin) function {
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		n := 0
		switch sep, ok := starlark.AsString(first(args)); {
		case b.Name() == "splitlines":
			n = strings.Count(string(s), "\n")
		case ok && sep != "":
			n = strings.Count(string(s), sep)
		case len(s) > mostPieces:
			n = countWords(string(s))
		}
		if n > mostPieces {
			return nil, overLimit("%s: %d parts are over the limit of %d", b.Name(), n, mostPieces)
		}
		return f.CallInternal(th, args, kwargs)
	}
}

func first(args starlark.Tuple) starlark.Value {
	if len(args) == 0 {
		return starlark.None
	}
	return args[0]
}

// countWords counts what stands between white space, until there is too much.
func countWords(s string) int {
	n, space := 0, true
	for _, r := range s {
		if unicode.IsSpace(r) {
			space = true
		} else if space {
			n, space = n+1, false
		}
		if n > mostPieces {
			break
		}
	}
	return n
}

// replaced is s.replace(old, new, count).
func (g guard) replaced(s starlark.String, f *starlark.Builtin) function {
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		var old, is string
		most := -1
		if err := starlark.UnpackPositionalArgs(b.Name(), args, kwargs, 2, &old, &is, &most); err != nil {
			return nil, err
		}
		if old == "" && len(s) > mostPieces {
			return nil, overLimit("replace: %d places are over the limit of %d", utf8.RuneCountInString(string(s))+1,
				mostPieces)
		}
		if old == "" || len(s) < lookEvery {
			n := strings.Count(string(s), old)
			if most >= 0 {
				n = min(n, most)
			}
			if size := len(s) + n*(len(is)-len(old)); size > g.Text {
				return nil, overLimit("replace: a text of %d bytes is over the limit of %d", size, g.Text)
			}
			return f.CallInternal(th, args, kwargs)
		}
		var all strings.Builder
		l := g.look()
		rest := string(s)
		for ; most != 0; most-- {
			before, after, found := strings.Cut(rest, old)
			if !found {
				break
			}
			if err := l.Part(len(before) + len(is)); err != nil {
				return nil, err
			}
			if n := all.Len() + len(before) + len(is); n > g.Text {
				return nil, overLimit("replace: a text of more than %d bytes is over the limit", g.Text)
			}
			all.WriteString(before)
			all.WriteString(is)
			rest = after
		}
		if all.Len()+len(rest) > g.Text {
			return nil, overLimit("replace: a text of %d bytes is over the limit of %d", all.Len()+len(rest), g.Text)
		}
		all.WriteString(rest)
		return starlark.String(all.String()), nil
	}
}

// mostTries is how many characters may be compared with one another by a method.
const mostTries = 1 << 26

// stripped is s.strip(characters) and its like: each character of the text is sought among the others.
func (g guard) stripped(s starlark.String, f *starlark.Builtin) function {
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		if chars, _ := starlark.AsString(first(args)); len(s) > 0 && len(chars) > mostTries/len(s) {
			return nil, overLimit("%s: %d characters to take off a text of %d bytes are over the limit", b.Name(),
				len(chars), len(s))
		}
		return f.CallInternal(th, args, kwargs)
	}
}

// begins is s.startswith(x) and s.endswith(x), where x may be a tuple of texts.
func (g guard) begins(s starlark.String, f *starlark.Builtin) function {
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		if all, ok := first(args).(starlark.Tuple); ok {
			l := newLook(mostTries, mostTries, lookDepth, g.ended)
			for _, x := range all {
				if err := l.Part(min(length(x), len(s))); err != nil {
					return nil, fmt.Errorf("%s: %w", b.Name(), err)
				}
			}
		}
		return f.CallInternal(th, args, kwargs)
	}
}

// textAtOnce is how many bytes of a text a method of the library goes through letter by letter.
const textAtOnce = 1 << 20

// lettered is a method that looks at every letter of a text, such as s.isupper() or s.title().
func (g guard) lettered(s starlark.String, f *starlark.Builtin) function {
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		if len(s) > textAtOnce {
			return nil, overLimit("%s: a text of %d bytes is over the limit of %d", b.Name(), len(s), textAtOnce)
		}
		return f.CallInternal(th, args, kwargs)
	}
}

// cased is s.upper() and s.lower(), which go by letters that do not depend on one another.
func (g guard) cased(s starlark.String, f *starlark.Builtin) function {
	return func(th *starlark.Thread, b *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		if len(s) <= textAtOnce || len(args)+len(kwargs) > 0 {
			return f.CallInternal(th, args, kwargs)
		}
		turn := strings.ToUpper
		if b.Name() == "lower" {
			turn = strings.ToLower
		}
		var all strings.Builder
		l := g.look()
		for rest := string(s); rest != ""; {
			n := min(lookEvery, len(rest))
			for n < len(rest) && !utf8.RuneStart(rest[n]) {
				n++
			}
			if err := l.Part(n); err != nil {
				return nil, err
			}
			all.WriteString(turn(rest[:n]))
			rest = rest[n:]
		}
		return starlark.String(all.String()), nil
	}
}
