package session

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.starlark.net/starlark"
)

// fieldWidth is the most that a width or a precision may be.
const fieldWidth = 1000

// conversion is one %... of a format: flags, width, precision (-1 when absent) and the verb.
type conversion struct {
	flags     string
	width     int
	precision int
	verb      rune
}

// interpolate is format % y, after Python: %[(key)][flags][width][.precision]verb with the verbs
// d i u o x X e E f F g G c s r %.
func (g guard) interpolate(format string, y starlark.Value) (string, error) {
	args, tuple := y.(starlark.Tuple)
	if !tuple {
		args = starlark.Tuple{y}
	}
	w := g.writer()
	used, keyed := 0, false
	for rest := format; ; {
		plain, after, found := strings.Cut(rest, "%")
		if err := w.put(plain); err != nil {
			return "", err
		}
		if !found {
			break
		}
		var key string
		var hasKey bool
		if strings.HasPrefix(after, "(") {
			if key, after, hasKey = strings.Cut(after[1:], ")"); !hasKey {
				return "", fmt.Errorf("format %q: the key after %%( has no end", shorten(format))
			}
		}
		c, tail, err := parseConversion(after)
		if err != nil {
			return "", fmt.Errorf("format %q: %w", shorten(format), err)
		}
		rest = tail
		if c.verb == '%' {
			if err := w.put("%"); err != nil {
				return "", err
			}
			continue
		}
		var arg starlark.Value
		switch {
		case hasKey:
			keyed = true
			if arg, err = lookUp(y, key); err != nil {
				return "", err
			}
		case used < len(args):
			arg = args[used]
			used++
		default:
			return "", fmt.Errorf("format %q needs more values than the %d given", shorten(format), len(args))
		}
		s, err := g.convert(c, arg)
		if err != nil {
			return "", err
		}
		if err := w.put(s); err != nil {
			return "", err
		}
	}
	if _, mapping := y.(starlark.Mapping); used < len(args) && !keyed && !mapping {
		return "", fmt.Errorf("format %q uses %d of the %d values given", shorten(format), used, len(args))
	}
	return w.String(), nil
}

func lookUp(y starlark.Value, key string) (starlark.Value, error) {
	m, ok := y.(starlark.Mapping)
	if !ok {
		return nil, fmt.Errorf("%%(%s) needs a dict, got %s", shorten(key), y.Type())
	}
	v, found, err := m.Get(starlark.String(key))
	if err == nil && !found {
		err = fmt.Errorf("%%(%s): the dict has no such key", shorten(key))
	}
	return v, err
}

// parseConversion reads what follows a % and its key.
func parseConversion(s string) (c conversion, rest string, err error) {
	rest = strings.TrimLeft(s, "-+ #0")
	c.flags = s[:len(s)-len(rest)]
	if c.width, rest, err = parseWidth(rest); err != nil {
		return c, "", err
	}
	c.width, c.precision = max(c.width, 0), -1
	if strings.HasPrefix(rest, ".") {
		if c.precision, rest, err = parseWidth(rest[1:]); err != nil {
			return c, "", err
		}
		c.precision = max(c.precision, 0)
	}
	if rest == "" {
		return c, "", errors.New("it ends within a conversion; write %% for a percent sign")
	}
	verb, n := utf8.DecodeRuneInString(rest)
	c.verb = verb
	if !strings.ContainsRune("diuoxXeEfFgGcsr%", verb) {
		return c, "", fmt.Errorf("unknown conversion %%%c; write %%%% for a percent sign", verb)
	}
	return c, rest[n:], nil
}

func parseWidth(s string) (int, string, error) {
	rest := strings.TrimLeft(s, "0123456789")
	digits := s[:len(s)-len(rest)]
	if digits == "" {
		return -1, rest, nil
	}
	n, err := strconv.Atoi(digits)
	if err != nil || n > fieldWidth {
		return 0, "", overLimit("a width of %s is over the limit of %d", shorten(digits), fieldWidth)
	}
	return n, rest, nil
}

// convert writes one value.
func (g guard) convert(c conversion, v starlark.Value) (string, error) {
	switch c.verb {
	case 's', 'r', 'c':
		return g.convertText(c, v)
	case 'd', 'i', 'u', 'o', 'x', 'X':
		i, err := starlark.NumberToInt(v)
		if err != nil {
			return "", c.wants(v)
		}
		verb := c.verb
		switch {
		case verb == 'i' || verb == 'u':
			verb = 'd'
		case verb == 'o' && strings.Contains(c.flags, "#"):
			verb = 'O' // 0o17, as Python writes it
			c.flags = strings.ReplaceAll(c.flags, "#", "")
		}
		return fmt.Sprintf(c.spec(verb), i.BigInt()), nil
	}
	f, ok := starlark.AsFloat(v)
	if !ok {
		return "", c.wants(v)
	}
	if math.IsInf(f, 0) || math.IsNaN(f) {
		return c.notFinite(f), nil
	}
	if c.precision < 0 {
		c.precision = 6 // for %g too, as in C: '%g' % 0.3 is 0.3
	}
	verb := c.verb
	if verb == 'F' {
		verb = 'f'
	}
	return fmt.Sprintf(c.spec(verb), f), nil
}

func (c conversion) wants(v starlark.Value) error {
	if _, ok := v.(Dimensioned); ok {
		return fmt.Errorf("%%%c needs a plain number, got %s: convert it first, as in q.to(unit), or use %%s", c.verb,
			shortened(v))
	}
	return fmt.Errorf("%%%c needs a number, got %s %s", c.verb, v.Type(), shortened(v))
}

// spec is the conversion as Go's fmt writes it.
func (c conversion) spec(verb rune) string {
	var b strings.Builder
	b.WriteByte('%')
	b.WriteString(c.flags)
	if c.width > 0 {
		b.WriteString(strconv.Itoa(c.width))
	}
	if c.precision >= 0 {
		b.WriteByte('.')
		b.WriteString(strconv.Itoa(c.precision))
	}
	b.WriteRune(verb)
	return b.String()
}

func (c conversion) notFinite(f float64) string {
	s := "nan"
	switch {
	case math.IsInf(f, -1):
		s = "-inf"
	case math.IsInf(f, 1) && strings.Contains(c.flags, "+"):
		s = "+inf"
	case math.IsInf(f, 1):
		s = "inf"
	}
	if strings.ContainsRune("EFG", c.verb) {
		s = strings.ToUpper(s)
	}
	c.flags = strings.Map(onlyMinus, c.flags)
	c.precision = -1
	return fmt.Sprintf(c.spec('s'), s)
}

// onlyMinus keeps the one flag that means something for a text.
func onlyMinus(r rune) rune {
	if r == '-' {
		return r
	}
	return -1
}

func (g guard) convertText(c conversion, v starlark.Value) (string, error) {
	var s string
	var err error
	switch c.verb {
	case 's':
		s, err = g.str(v)
	case 'r':
		s, err = g.repr(v)
	case 'c':
		s, err = character(v)
	}
	if err != nil {
		return "", err
	}
	c.flags = strings.Map(onlyMinus, c.flags)
	return fmt.Sprintf(c.spec('s'), s), nil
}

func character(v starlark.Value) (string, error) {
	switch v := v.(type) {
	case starlark.Int:
		if i, ok := v.Int64(); ok && 0 <= i && i <= utf8.MaxRune {
			return string(rune(i)), nil
		}
	case starlark.String:
		if utf8.RuneCountInString(string(v)) == 1 {
			return string(v), nil
		}
	}
	return "", fmt.Errorf("%%c needs one character or its code point, got %s", shortened(v))
}
