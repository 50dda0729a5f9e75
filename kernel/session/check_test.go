package session

import (
	"context"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"
	"go.starlark.net/starlark"
)

func checking(t *testing.T) *Session {
	t.Helper()
	ran := starlark.NewBuiltin("given", func(*starlark.Thread, *starlark.Builtin, starlark.Tuple,
		[]starlark.Tuple) (starlark.Value, error) {
		t.Error("a checked cell has run")
		return starlark.None, nil
	})
	s, err := New(Config{Words: starlark.StringDict{"given": ran}})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestCheckListsCalls(t *testing.T) {
	s := checking(t)
	calls, err := s.Check(Cell{Name: "cell 1",
		Source: "µ = 2\nx = given(\"apex\", 5*µ**2)\ndef f(name):\n  return [given(name=\"b\" , default =(1,\n 2)), " +
			"len(\"given('c')\")]\n"})
	if err != nil {
		t.Fatal(err)
	}
	want := []Call{
		{Word: "given", Line: 2, Column: 5, Positional: []Argument{{`"apex"`, "apex", true}, {"5*µ**2", "", false}},
			Named: map[string]Argument{}},
		{Word: "given", Line: 4, Column: 11, Named: map[string]Argument{"name": {`"b"`, "b", true},
			"default": {"(1,\n 2)", "", false}}},
	}
	if d := cmp.Diff(want, calls); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	// What the first cell would assign is known to the second.
	if _, err := s.Check(Cell{Name: "cell 2", Source: "f(x)"}); err != nil {
		t.Error(err)
	}
}

// TestCheckAsRun: what Check refuses, Run refuses in the same words, and before it runs.
func TestCheckAsRun(t *testing.T) {
	for _, source := range []string{"x = (1,", "y", "given(\"a\")\nbreak", "x = 1\n  y = 2"} {
		_, got := checking(t).Check(Cell{Name: "cell 1", Source: source})
		_, want := checking(t).Run(context.Background(), Cell{Name: "cell 1", Source: source}, nil)
		var g, w *Error
		if !errors.As(got, &g) || !errors.As(want, &w) {
			t.Errorf("%q: Check %v, Run %v", source, got, want)
			continue
		}
		if d := cmp.Diff(w.Lines, g.Lines); d != "" {
			t.Errorf("%q: (-run +check):\n%s", source, d)
		}
	}
}
