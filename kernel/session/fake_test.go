package session

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"wedgework/reports/notebook"
)

// amount stands in for the quantities of the vocabulary: a number with a dimension.
type amount struct {
	value float64
	dim   string
}

func (a amount) String() string       { return fmt.Sprintf("%g %s", a.value, a.dim) }
func (a amount) Type() string         { return "quantity" }
func (a amount) Freeze()              {}
func (a amount) Truth() starlark.Bool { return a.value != 0 }
func (a amount) Dimension() string    { return a.dim }
func (a amount) Hash() (uint32, error) {
	return starlark.String(a.String()).Hash()
}

func (a amount) CompareSameType(op syntax.Token, y starlark.Value, _ int) (bool, error) {
	b := y.(amount)
	if a.dim != b.dim {
		return false, fmt.Errorf("cannot compare %s with %s", a, b)
	}
	return starlark.Compare(op, starlark.Float(a.value), starlark.Float(b.value))
}

func (a amount) Binary(op syntax.Token, y starlark.Value, _ starlark.Side) (starlark.Value, error) {
	k, ok := starlark.AsFloat(y)
	if !ok || op != syntax.STAR {
		return nil, nil
	}
	return amount{a.value * k, a.dim}, nil
}

func (a amount) Power(y starlark.Value) (starlark.Value, error) {
	n, err := starlark.AsInt32(y)
	if err != nil {
		return nil, fmt.Errorf("%s: the power of a quantity must be a whole number, got %s", a, y)
	}
	r := amount{1, fmt.Sprintf("%s^%d", a.dim, n)}
	for range n {
		r.value *= a.value
	}
	return r, nil
}

func (a amount) Attr(name string) (starlark.Value, error) {
	switch name {
	case "to":
		return starlark.NewBuiltin("to", func(_ *starlark.Thread, _ *starlark.Builtin, _ starlark.Tuple,
			_ []starlark.Tuple) (starlark.Value, error) {
			return starlark.Float(a.value), nil
		}), nil
	case "explode":
		return starlark.NewBuiltin("explode", func(*starlark.Thread, *starlark.Builtin, starlark.Tuple,
			[]starlark.Tuple) (starlark.Value, error) {
			panic("method")
		}), nil
	case "broken":
		var none []int
		return starlark.MakeInt(none[1]), nil
	}
	return nil, nil
}

func (a amount) AttrNames() []string { return []string{"to", "explode", "broken"} }

// advised is an error with a hint.
type advised struct{}

func (advised) Error() string { return "no such crystal" }
func (advised) Hint() string  { return "there are calcite and YVO4" }

func builtin(name string, f func(th *starlark.Thread, args starlark.Tuple) (starlark.Value, error)) starlark.Value {
	return starlark.NewBuiltin(name, func(th *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple,
		_ []starlark.Tuple) (starlark.Value, error) {
		return f(th, args)
	})
}

// words are what the cells of the tests can use.
func words() starlark.StringDict {
	unpacking := starlark.NewBuiltin("paint", func(_ *starlark.Thread, b *starlark.Builtin, args starlark.Tuple,
		kw []starlark.Tuple) (starlark.Value, error) {
		var colour string
		err := starlark.UnpackArgs(b.Name(), args, kw, "colour", &colour)
		return starlark.String(colour), err
	})
	return starlark.StringDict{
		"nm":    amount{1, "length"},
		"deg":   amount{1, "angle"},
		"paint": unpacking,
		"eq": builtin("eq", func(_ *starlark.Thread, args starlark.Tuple) (starlark.Value, error) {
			same, err := starlark.Equal(args[0], args[1])
			if err == nil && (!same || args[0].Type() != args[1].Type()) {
				err = fmt.Errorf("got %s, want %s", args[0], args[1])
			}
			return starlark.None, err
		}),
		"boom": builtin("boom", func(*starlark.Thread, starlark.Tuple) (starlark.Value, error) {
			panic(errors.New("plate is bent"))
		}),
		"hinting": builtin("hinting", func(*starlark.Thread, starlark.Tuple) (starlark.Value, error) {
			return nil, advised{}
		}),
		"reading": builtin("reading", func(*starlark.Thread, starlark.Tuple) (starlark.Value, error) {
			_, err := dialect.ParseExpr("elsewhere", "1 +", 0)
			return starlark.None, err
		}),
		"apply": builtin("apply", func(th *starlark.Thread, args starlark.Tuple) (starlark.Value, error) {
			v, err := starlark.Call(th, args[0], args[1:], nil)
			if err != nil {
				return nil, fmt.Errorf("apply: %w", err)
			}
			return v, nil
		}),
		"show": builtin("show", func(th *starlark.Thread, args starlark.Tuple) (starlark.Value, error) {
			err := Emit(th, notebook.Output{Type: notebook.DisplayOutput,
				Data: map[string]any{"text/plain": args[0].String()}})
			return starlark.None, err
		}),
	}
}

// small bounds keep the tests of bounds fast.
var small = Bounds{Steps: 2_000_000, Output: 100_000, Outputs: 50, Elements: 100_000, Range: 1_000_000, Text: 200_000,
	IntegerBits: 10_000}

func newSession(t testing.TB, bounds Bounds) *Session {
	t.Helper()
	s, err := New(Config{Words: words(), Bounds: bounds})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// runCell runs one cell and returns its outputs.
func runCell(s *Session, name, src string) ([]notebook.Output, starlark.Value, error) {
	var out []notebook.Output
	v, err := s.Run(context.Background(), Cell{Name: name, Number: 1, Source: src},
		func(o notebook.Output) { out = append(out, o) })
	return out, v, err
}

// mustRun runs cells that succeed, named "cell 1" and so on, and returns the text of the last value.
func mustRun(t *testing.T, s *Session, cells ...string) string {
	t.Helper()
	var v starlark.Value
	for i, src := range cells {
		var err error
		if _, v, err = runCell(s, fmt.Sprintf("cell %d", i+1), src); err != nil {
			t.Fatalf("cell %d: %v\n%s", i+1, err, src)
		}
	}
	if v == nil {
		return ""
	}
	return v.String()
}

// mustFail runs cells of which only the last fails, and returns its error.
func mustFail(t *testing.T, s *Session, cells ...string) *Error {
	t.Helper()
	n := len(cells) - 1
	mustRun(t, s, cells[:n]...)
	out, _, err := runCell(s, fmt.Sprintf("cell %d", n+1), cells[n])
	var e *Error
	if !errors.As(err, &e) {
		t.Fatalf("got error %v, want an *Error from\n%s", err, cells[n])
	}
	failures := 0
	for _, o := range out {
		if o.Type == notebook.ErrorOutput {
			failures++
		}
	}
	if failures != 1 || out[len(out)-1].Type != notebook.ErrorOutput {
		t.Fatalf("got %d error outputs, want one, the last", failures)
	}
	for _, text := range append(e.Lines, e.Error(), e.Hint) {
		for _, name := range []string{nameGlobals, nameLast, nameSeal, nameObject, nameKey, opCall, opInvoke, opAttr,
			"f" + slot + slot} {
			if name != nameKey && name != nameObject && name != nameLast && strings.Contains(text, name+"(") {
				t.Errorf("a hidden name shows in %q", text)
			}
		}
	}
	return e
}
