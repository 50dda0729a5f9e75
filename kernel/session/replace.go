package session

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.starlark.net/starlark"
)

// formatted is s.format(...) as a method.
func (g guard) formatted(s starlark.String, _ *starlark.Builtin) function {
	return func(_ *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
		error) {
		t, err := g.replace(string(s), args, kwargs)
		return starlark.String(t), err
	}
}

// replace is s.format(...): {}, {0} and {name}, each with !r and with a specification after a colon, as
// in '{:.3f}'. Starlark has no specifications.
func (g guard) replace(s string, args starlark.Tuple, kwargs []starlark.Tuple) (string, error) {
	w := g.writer()
	named := make(map[string]starlark.Value, len(kwargs))
	for _, kw := range kwargs {
		named[string(kw[0].(starlark.String))] = kw[1]
	}
	next := 0 // of the fields that count by themselves
	counted, numbered := false, false
	for rest := s; rest != ""; {
		i := strings.IndexAny(rest, "{}")
		if i < 0 {
			i = len(rest)
		}
		if err := w.put(rest[:i]); err != nil {
			return "", err
		}
		if rest = rest[i:]; rest == "" {
			break
		}
		if strings.HasPrefix(rest, "{{") || strings.HasPrefix(rest, "}}") {
			if err := w.put(rest[:1]); err != nil {
				return "", err
			}
			rest = rest[2:]
			continue
		}
		end := strings.IndexByte(rest, '}')
		if rest[0] == '}' || end < 0 {
			return "", fmt.Errorf("format: single %c; write it twice to show one", rest[0])
		}
		field := rest[1:end]
		rest = rest[end+1:]
		field, spec, _ := strings.Cut(field, ":")
		name, conversion, converted := strings.Cut(field, "!")
		switch {
		case name == "":
			counted = true
			name = fmt.Sprint(next)
			next++
		case strings.Trim(name, "0123456789") == "":
			numbered = true
		}
		if counted && numbered {
			return "", errors.New("format: fields either count by themselves, {}, or have numbers, {0}")
		}
		v, err := argument(name, args, named)
		if err != nil {
			return "", err
		}
		t, err := g.field(v, conversion, converted, spec)
		if err != nil {
			return "", fmt.Errorf("format: %w", err)
		}
		if err := w.put(t); err != nil {
			return "", err
		}
	}
	return w.String(), nil
}

// argument finds the value of a field by its number or its name.
func argument(name string, args starlark.Tuple, named map[string]starlark.Value) (starlark.Value, error) {
	number := strings.Trim(name, "0123456789") == ""
	if i, err := strconv.Atoi(name); number && err == nil && i < len(args) {
		return args[i], nil
	}
	if v, ok := named[name]; ok {
		return v, nil
	}
	if number {
		return nil, fmt.Errorf("format: there is no value for the field {%s}: %d given", shorten(name), len(args))
	}
	return nil, fmt.Errorf("format: there is no value for the field {%s}", shorten(name))
}

func (g guard) field(v starlark.Value, conversion string, converted bool, spec string) (string, error) {
	if converted {
		var t string
		var err error
		switch conversion {
		case "r":
			t, err = g.repr(v)
		case "s":
			t, err = g.str(v)
		default:
			err = fmt.Errorf("!%s is neither !r nor !s", shorten(conversion))
		}
		if err != nil {
			return "", err
		}
		v = starlark.String(t)
	}
	if spec == "" {
		return g.str(v)
	}
	f, err := parseSpec(spec)
	if err != nil {
		return "", err
	}
	return g.write(f, v)
}

// fieldSpec is how a value is written: [[fill]align][sign][#][0][width][,][.precision][type].
type fieldSpec struct {
	conversion
	fill      string
	align     string // < > ^ = or ""
	thousands bool
}

var specPattern = matching(`^(?:(.)?([<>^=]))?([-+ ]?)(#?)(0?)([0-9]*)(,?)(?:\.([0-9]+))?([bcdeEfFgGosxX%]?)$`)

func parseSpec(s string) (fieldSpec, error) {
	m := specPattern().FindStringSubmatch(s)
	if m == nil {
		return fieldSpec{}, fmt.Errorf("%q does not say how to write a value; write such as .3f, 8.2f or >10",
			shorten(s))
	}
	f := fieldSpec{fill: m[1], align: m[2], thousands: m[7] != ""}
	f.flags = strings.Trim(m[3], "-") + m[4]
	if m[5] != "" && f.align == "" {
		f.fill, f.align = "0", "="
	}
	if f.fill == "" {
		f.fill = " "
	}
	var err error
	if f.width, _, err = parseWidth(m[6]); err != nil {
		return f, err
	}
	if f.precision, _, err = parseWidth(m[8]); err != nil {
		return f, err
	}
	if m[9] != "" {
		f.verb = rune(m[9][0])
	}
	return f, nil
}

// write writes v and fills it up to the width.
func (g guard) write(f fieldSpec, v starlark.Value) (string, error) {
	_, whole := v.(starlark.Int)
	_, float := v.(starlark.Float)
	number := whole || float
	c := f.conversion
	c.width = 0
	tail := ""
	switch {
	case !number && (c.verb == 0 || c.verb == 's') && c.flags == "" && !f.thousands && f.align != "=":
		c.verb = 's'
	case !number || c.verb == 's':
		if c.verb == 0 {
			c.verb = 'f'
		}
		return "", c.wants(v)
	case c.verb == 0 && whole && c.precision < 0:
		c.verb = 'd'
	case c.verb == 0 && c.precision < 0: // as str writes it
		t, err := g.str(v)
		return f.pad(withSign(t, c.flags), true), err
	case c.verb == 0:
		c.verb = 'g'
	case c.verb == '%':
		x, _ := starlark.AsFloat(v)
		v, c.verb, tail = starlark.Float(100*x), 'f', "%"
	case c.verb == 'b':
		i, err := starlark.NumberToInt(v)
		if err != nil || float {
			return "", c.wants(v)
		}
		return f.pad(withSign(fmt.Sprintf("%b", i.BigInt()), c.flags), true), nil
	case float && strings.ContainsRune("cdoxX", c.verb):
		return "", fmt.Errorf("%c needs a whole number, got %s: write .0f, or int(...)", c.verb, v)
	}
	t, err := g.convert(c, v)
	if err != nil {
		return "", err
	}
	if f.thousands {
		t = group(t)
	}
	return f.pad(t+tail, number), nil
}

func withSign(t, flags string) string {
	if sign := strings.Trim(flags, "#"); sign != "" && !strings.HasPrefix(t, "-") {
		return sign + strings.TrimPrefix(t, "+")
	}
	return t
}

// group puts commas between the thousands of a number.
func group(t string) string {
	start := len(t) - len(strings.TrimLeft(t, "+- "))
	end := start
	for end < len(t) && '0' <= t[end] && t[end] <= '9' {
		end++
	}
	digits := t[start:end]
	var b strings.Builder
	for i, d := range digits {
		if i > 0 && (len(digits)-i)%3 == 0 {
			b.WriteByte(',')
		}
		b.WriteRune(d)
	}
	return t[:start] + b.String() + t[end:]
}

// pad fills a text up to the width: texts stand left unless told otherwise, numbers right.
func (f fieldSpec) pad(t string, number bool) string {
	missing := f.width - utf8.RuneCountInString(t)
	if missing <= 0 {
		return t
	}
	align := f.align
	if align == "" {
		align = "<"
		if number {
			align = ">"
		}
	}
	left, right := 0, missing
	switch align {
	case ">":
		left, right = missing, 0
	case "^":
		left, right = missing/2, missing-missing/2
	case "=":
		n := len(t) - len(strings.TrimLeft(t, "+- "))
		return t[:n] + strings.Repeat(f.fill, missing) + t[n:]
	}
	return strings.Repeat(f.fill, left) + t + strings.Repeat(f.fill, right)
}
