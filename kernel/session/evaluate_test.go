package session

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"go.starlark.net/starlark"
)

func evaluating(t *testing.T) *Session {
	t.Helper()
	w := words()
	w["evaluate"] = builtin("evaluate", func(th *starlark.Thread, args starlark.Tuple) (starlark.Value, error) {
		return Evaluate(th, "setting apex", string(args[0].(starlark.String)))
	})
	s, err := New(Config{Words: w, Bounds: small})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestEvaluate(t *testing.T) {
	tests := []struct{ src, want string }{
		{"evaluate('4.5 * nm')", "4.5 length"},
		{"evaluate('2 ** 3 ** 2')", "512"},
		{"evaluate('[len(x) for x in [[1, 2]]]')", "[2]"},
		{"evaluate('(1,\\n 2)')", "(1, 2)"},
		{"nm = 3\nlen = 5\nevaluate('len([nm])')", "1"},
		{"evaluate(\"evaluate('1 + 1') + 1\")", "3"},
		{"x = 7\nevaluate('1')\nx", "7"},
	}
	for _, tt := range tests {
		if got := mustRun(t, evaluating(t), tt.src); got != tt.want {
			t.Errorf("%s: got %s, want %s", tt.src, got, tt.want)
		}
	}
}

func TestEvaluateFails(t *testing.T) {
	tests := []struct{ src, kind, want string }{
		{"x = 1\nevaluate('x + 1')", CellError, "cell 1:2:1: setting apex:1:1: undefined: x"},
		{"evaluate('4.5 * dge')", CellError, "cell 1:1:1: setting apex:1:7: undefined: dge; did you mean deg?"},
		{"evaluate('x = 1')", CellError, "cell 1:1:1: setting apex:1:3: found '=' after expression, expected the end"},
		{"evaluate('1 +')", CellError, "cell 1:1:1: setting apex:1:4: found the end, expected a value"},
		{"evaluate('nm == 1')", CellError, "cell 1:1:1: setting apex:1:4: cannot compare 1 length (length) with the " +
			"plain number 1: give the number a unit"},
		{"evaluate('1.0 if 1*nm == 1 else 2.5')", CellError,
			"cell 1:1:1: setting apex:1:13: cannot compare 1 length (length) with the plain number 1: give the " +
				"number a unit"},
		{"evaluate('\"a\" * 100000000')", LimitError,
			"cell 1:1:1: setting apex:1:5: repeating 1 bytes 100000000 times is over the limit of 200000 bytes"},
		{"evaluate('[1] * 10**9')", LimitError,
			"cell 1:1:1: setting apex:1:5: repeating 1 elements 1000000000 times is over the limit of 100000 elements"},
	}
	for _, tt := range tests {
		e := mustFail(t, evaluating(t), tt.src)
		if e.Kind != tt.kind || e.Error() != tt.want {
			t.Errorf("%s: got %s: %v, want %s: %s", tt.src, e.Kind, e, tt.kind, tt.want)
		}
	}
	if e := mustFail(t, evaluating(t), "evaluate('[i for i in range(1000000)]')"); e.Kind != LimitError ||
		!strings.HasPrefix(e.Message, "this cell has taken more") {
		t.Errorf("too many steps: got %s: %v", e.Kind, e)
	}
	e := mustFail(t, evaluating(t), "y = evaluate('1 // 0')")
	want := []string{
		"cell 1, line 1, column 5", "    y = evaluate('1 // 0')", "        ^",
		"setting apex, line 1, column 3", "    1 // 0", "      ^",
		"ZeroDivisionError: setting apex:1:3: floored division by zero",
	}
	if d := cmp.Diff(e.Lines, want); d != "" {
		t.Errorf("traceback (-got +want):\n%s", d)
	}
	if err := CheckExpression("x", strings.Repeat(" ", sourceSize)+"1"); !errors.As(err, new(*limitError)) {
		t.Errorf("a text over the limit: got %v", err)
	}
	if _, err := Evaluate(new(starlark.Thread), "x", "1"); !errors.Is(err, ErrIdle) {
		t.Errorf("without a cell: got %v", err)
	}
}
