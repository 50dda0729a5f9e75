package session

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"
)

// writer writes values as Starlark does, and stops when the text is too long. The library's own writer
// does not: a list that holds itself twice, forty times over, has a text of a terabyte.
type writer struct {
	strings.Builder
	limit int
	path  []starlark.Value // the lists and dicts that are being written
	look  *Look
}

func (g guard) writer() writer { return writer{limit: g.Text, look: g.look()} }

func (w *writer) put(s string) error {
	if err := w.look.cost(64 + len(s)); err != nil { // a part is written slower than it is looked at
		return err
	}
	if w.Len()+len(s) > w.limit {
		return overLimit("a text of more than %d bytes is over the limit", w.limit)
	}
	w.WriteString(s)
	return nil
}

func (w *writer) value(v starlark.Value) error {
	switch v := v.(type) {
	case starlark.String:
		if w.Len()+len(v) > w.limit {
			return w.put(string(v))
		}
		return w.put(syntax.Quote(string(v), false))
	case starlark.Bytes:
		if w.Len()+len(v) > w.limit {
			return w.put(string(v))
		}
	case starlark.Int:
		if bitLen(v)*3/10 > w.limit-w.Len() { // its digits, which take time to find
			return overLimit("a text of more than %d bytes is over the limit", w.limit)
		}
	case *starlark.List:
		return w.nested(v, "[", "]", func() error { return w.elements(v) })
	case starlark.Tuple:
		end := ")"
		if len(v) == 1 {
			end = ",)"
		}
		return w.nested(nil, "(", end, func() error { return w.elements(v) })
	case *starlark.Set:
		return w.nested(nil, "set([", "])", func() error { return w.elements(v) })
	case *starlark.Dict:
		return w.nested(v, "{", "}", func() error { return w.entries(v) })
	}
	return w.put(v.String())
}

// nested writes a value that holds others; one that is being written already, because it holds itself,
// is cut short.
func (w *writer) nested(v starlark.Value, open, end string, inside func() error) error {
	if err := w.look.In(); err != nil {
		return err
	}
	defer w.look.Out()
	if err := w.put(open); err != nil {
		return err
	}
	for _, outer := range w.path {
		if v != nil && outer == v {
			return w.put("..." + end)
		}
	}
	w.path = append(w.path, v)
	if err := inside(); err != nil {
		return err
	}
	w.path = w.path[:len(w.path)-1]
	return w.put(end)
}

func (w *writer) elements(seq starlark.Iterable) error {
	sep := ""
	for e := range starlark.Elements(seq) {
		if err := w.put(sep); err != nil {
			return err
		}
		if err := w.value(e); err != nil {
			return err
		}
		sep = ", "
	}
	return nil
}

func (w *writer) entries(d *starlark.Dict) error {
	sep := ""
	for k, v := range d.Entries() {
		if err := w.put(sep); err != nil {
			return err
		}
		if err := w.value(k); err != nil {
			return err
		}
		if err := w.put(": "); err != nil {
			return err
		}
		if err := w.value(v); err != nil {
			return err
		}
		sep = ", "
	}
	return nil
}

// repr is the text of a value as a cell would write it.
func (g guard) repr(v starlark.Value) (string, error) {
	w := g.writer()
	err := w.value(v)
	return w.String(), err
}

// str is the text of a value as str() gives it.
func (g guard) str(v starlark.Value) (string, error) {
	switch v := v.(type) {
	case starlark.String:
		return string(v), nil
	case starlark.Bytes:
		return string([]rune(string(v))), nil // each byte that is no UTF-8 becomes U+FFFD
	}
	return g.repr(v)
}

// Text returns v as a cell would write it, cut after limit bytes and then ended with " ...".
func Text(v starlark.Value, limit int) string {
	w := writer{limit: limit, look: newLook(0, 0, lookDepth, nil)}
	if err := w.value(v); err == nil {
		return w.String()
	}
	if w.Len() > 0 {
		return w.String() + " ..."
	}
	switch s := v.(type) { // one long text; all of it need not be written
	case starlark.String:
		v = s[:min(limit, len(s))]
	case starlark.Bytes:
		v = s[:min(limit, len(s))]
	case starlark.Int:
		return fmt.Sprintf("a whole number of %d bits", bitLen(s))
	}
	return cut(v.String(), limit-1)
}

// cut shortens a text to limit bytes, at a whole character.
func cut(s string, limit int) string {
	if len(s) <= limit {
		return s
	}
	for limit > 0 && !utf8.RuneStart(s[limit]) {
		limit--
	}
	return s[:limit] + " ..."
}
