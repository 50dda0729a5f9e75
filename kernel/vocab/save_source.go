package vocab

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
)

// mostSource bounds the cell source that a value is written as: that of a file that load() reads.
const mostSource = 1 << 20

// savedSource writes values as cell source that load() reads: a dict by its keys, another value by the name of the
// file.
// What is written is read back before it counts.
func savedSource(t *starlark.Thread, file string, v starlark.Value) ([]byte, error) {
	d, ok := v.(*starlark.Dict)
	if !ok {
		d = starlark.NewDict(1)
		name := strings.TrimSuffix(file, ".star")
		if !isName(name) {
			return nil, fmt.Errorf("%q is no name that a cell can load: save a dict such as {\"limits_a\": value}",
				name)
		}
		if err := d.SetKey(starlark.String(name), v); err != nil {
			return nil, err
		}
	}
	w := &sourceWriter{thread: t, look: session.NewLook(session.ContextOf(t), jsonParts, mostSource, jsonDepth)}
	if err := w.look.Whole(v); err != nil {
		return nil, err
	}
	for _, kv := range d.Items() {
		name, _ := starlark.AsString(kv[0])
		if !isName(name) {
			return nil, fmt.Errorf("%s is no name that a cell can load", describe(kv[0]))
		}
		w.out.WriteString(name + " = ")
		if err := w.value(kv[1]); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		w.out.WriteString("\n")
		if w.out.Len() > mostSource {
			return nil, fmt.Errorf("the source is longer than the limit of %d bytes", mostSource)
		}
	}
	return []byte(w.out.String()), nil
}

// isName reports whether a text can be assigned to.
func isName(s string) bool {
	for i, r := range s {
		letter := r == '_' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z'
		if !letter && (i == 0 || r < '0' || r > '9') {
			return false
		}
	}
	return s != "" && Lookup(s) == nil && session.CheckExpression("name", s) == nil
}

type sourceWriter struct {
	thread *starlark.Thread
	look   *session.Look
	out    strings.Builder
	units  map[quantity.Unit]string
}

func (w *sourceWriter) value(v starlark.Value) error {
	switch v := v.(type) {
	case starlark.NoneType, starlark.Bool, starlark.Int:
		w.out.WriteString(v.String())
	case starlark.String:
		w.out.WriteString(v.String())
	case starlark.Float:
		return w.quantity(quantity.Quantity{Value: float64(v)})
	case Quantity:
		return w.quantity(v.Quantity)
	case *starlark.List:
		return w.several("[", "]", v)
	case starlark.Tuple:
		return w.several("(", ",)", v)
	case *starlark.Dict:
		w.out.WriteString("{")
		for i, kv := range v.Items() {
			if i > 0 {
				w.out.WriteString(", ")
			}
			if err := w.value(kv[0]); err != nil {
				return err
			}
			w.out.WriteString(": ")
			if err := w.value(kv[1]); err != nil {
				return err
			}
		}
		w.out.WriteString("}")
	case *Sweep:
		return w.sweep(v)
	case *Series:
		return w.series(v)
	default:
		return fmt.Errorf("cannot write %s as cell source; expected numbers, quantities, texts, lists, dicts, sweeps "+
			"and series", describe(v))
	}
	return nil
}

func (w *sourceWriter) several(open, end string, v starlark.Sequence) error {
	if v.Len() == 0 {
		end = strings.TrimPrefix(end, ",")
	}
	w.out.WriteString(open)
	first := true
	for item := range starlark.Elements(v) {
		if !first {
			w.out.WriteString(", ")
		}
		first = false
		if err := w.value(item); err != nil {
			return err
		}
	}
	w.out.WriteString(end)
	return nil
}

func (w *sourceWriter) quantity(q quantity.Quantity) error {
	if math.IsNaN(q.Value) || math.IsInf(q.Value, 0) {
		return errors.New("a value that is not a finite number has no source")
	}
	unit, err := w.unit(q.Unit)
	if err != nil {
		return err
	}
	number := strconv.FormatFloat(q.Value, 'g', -1, 64)
	if unit == "" && !strings.ContainsAny(number, ".e") {
		number += ".0"
	}
	w.out.WriteString(number + unit)
	return nil
}

// unit is what stands behind a number: "*nm". A unit that cells cannot spell is an error.
func (w *sourceWriter) unit(u quantity.Unit) (string, error) {
	if u == (quantity.Unit{}) {
		return "", nil
	}
	if text, ok := w.units[u]; ok {
		return text, nil
	}
	text := "*" + Unit{u}.String()
	if rest, ok := strings.CutPrefix(Unit{u}.String(), "1/"); ok {
		text = "/" + rest
	}
	v, err := session.Evaluate(w.thread, "unit", "2.5"+text)
	if err == nil {
		q, _ := toQuantity(v)
		if in, problem := q.In(u); problem != nil || math.Abs(in.Value-2.5) > 1e-12 {
			err = errors.New("it is another unit")
		}
	}
	if err != nil {
		return "", fmt.Errorf("the unit %s cannot be written in a cell", Unit{u})
	}
	if w.units == nil {
		w.units = map[quantity.Unit]string{}
	}
	w.units[u] = text
	return text, nil
}

func (w *sourceWriter) sweep(s *Sweep) error {
	n := s.Len()
	if n == 0 {
		return errors.New("a sweep of no points has no source")
	}
	again, err := counted(s.quantity(0), s.quantity(n-1), n)
	if err == nil && !again.same(s) {
		err = errors.New("its points are not evenly spaced")
	}
	if err != nil {
		return fmt.Errorf("a sweep has no source: %w", err)
	}
	w.out.WriteString("sweep(")
	for _, k := range []int{0, n - 1} {
		if err := w.quantity(s.quantity(k)); err != nil {
			return err
		}
		w.out.WriteString(", ")
	}
	fmt.Fprintf(&w.out, "count=%d)", n)
	return nil
}

func (w *sourceWriter) series(s *Series) error {
	if len(s.axes) != 1 {
		return errors.New("a grid has no source: save its rows")
	}
	w.out.WriteString("series(")
	if err := w.sweep(s.axes[0]); err != nil {
		return err
	}
	w.out.WriteString(", [")
	for i, v := range s.values {
		if i > 0 {
			w.out.WriteString(", ")
		}
		if math.IsNaN(v) {
			w.out.WriteString("None")
			continue
		}
		if err := w.quantity(s.at(i)); err != nil {
			return err
		}
	}
	w.out.WriteString("]")
	if s.label != "" {
		w.out.WriteString(", label=" + starlark.String(s.label).String())
	}
	w.out.WriteString(")")
	return nil
}
