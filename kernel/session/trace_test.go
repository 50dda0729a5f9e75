package session

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestTraceback(t *testing.T) {
	tests := []struct {
		name  string
		cells []string
		where string
		want  []string
	}{
		{
			"through two cells",
			[]string{"def inner(n):\n\treturn [n // 0]", "def outer(n):\n    x = n\n    return inner(x)\n",
				"y = 1\ny = y + outer(3)"},
			"cell 1:2:12: floored division by zero",
			[]string{
				"cell 3, line 2, column 9",
				"    y = y + outer(3)",
				"            ^",
				"cell 2, line 3, column 12: in outer",
				"    return inner(x)",
				"           ^",
				"cell 1, line 2, column 12: in inner",
				"    return [n // 0]",
				"              ^",
				"ZeroDivisionError: floored division by zero",
			},
		},
		{
			"columns are code points",
			[]string{"é = 'ßß'; x = é * None"},
			"cell 1:1:17: unknown binary op: string * NoneType",
			[]string{
				"cell 1, line 1, column 17",
				"    é = 'ßß'; x = é * None",
				"                    ^",
				"TypeError: unknown binary op: string * NoneType",
			},
		},
		{
			"tabs stay",
			[]string{"x = [\t1,\t2 // 0]"},
			"cell 1:1:12: floored division by zero",
			[]string{
				"cell 1, line 1, column 12",
				"    x = [\t1,\t2 // 0]",
				"         \t  \t  ^",
				"ZeroDivisionError: floored division by zero",
			},
		},
		{
			"several undefined names",
			[]string{"a = pain\nb = nothing_like_it + deg2"},
			"cell 1:1:5: undefined: pain; did you mean paint?",
			[]string{
				"cell 1, line 1, column 5",
				"    a = pain",
				"        ^",
				"cell 1, line 2, column 5: undefined: nothing_like_it",
				"    b = nothing_like_it + deg2",
				"        ^",
				"cell 1, line 2, column 23: undefined: deg2; did you mean deg?",
				"    b = nothing_like_it + deg2",
				"                          ^",
				"NameError: undefined: pain; did you mean paint?",
			},
		},
		{
			"a call that does not fit",
			[]string{"def f(a):\n  return a", "x = f(1,\n  b=2)"},
			`cell 2:1:5: function f got an unexpected keyword argument "b"`,
			[]string{
				"cell 2, line 1, column 5",
				"    x = f(1,",
				"        ^",
				`ArgumentError: function f got an unexpected keyword argument "b"`,
			},
		},
		{
			"a misspelt argument of a built-in function",
			[]string{"print(1, spe='')"},
			`cell 1:1:1: print: unexpected keyword argument "spe"; did you mean sep?`,
			[]string{
				"cell 1, line 1, column 1",
				"    print(1, spe='')",
				"    ^",
				`ArgumentError: print: unexpected keyword argument "spe"; did you mean sep?`,
			},
		},
		{
			"through a word and a lambda",
			[]string{"apply(lambda v: v // 0, 1)"},
			"cell 1:1:19: apply: floored division by zero",
			[]string{
				"cell 1, line 1, column 1",
				"    apply(lambda v: v // 0, 1)",
				"    ^",
				"cell 1, line 1, column 19: in lambda",
				"    apply(lambda v: v // 0, 1)",
				"                      ^",
				"ZeroDivisionError: apply: floored division by zero",
			},
		},
		{
			"a hint",
			[]string{"  \nhinting()"},
			"cell 1:2:1: no such crystal",
			[]string{
				"cell 1, line 2, column 1",
				"    hinting()",
				"    ^",
				"Error: no such crystal",
				"hint: there are calcite and YVO4",
			},
		},
		{
			"at the end of the cell",
			[]string{"x = (1,\n  2\n\n"},
			"cell 1:2:4: found the end, expected ')'",
			[]string{
				"cell 1, line 2, column 4",
				"    2",
				"     ^",
				"SyntaxError: found the end, expected ')'",
			},
		},
		{
			"an operator written over lines",
			[]string{"x = (1\n  **\n  None)"},
			"cell 1:2:3: a power must be a plain number, got NoneType",
			[]string{
				"cell 1, line 2, column 3",
				"    **",
				"    ^",
				"Error: a power must be a plain number, got NoneType",
			},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := mustFail(t, newSession(t, Bounds{}), tt.cells...)
			if got := e.Error(); got != tt.where {
				t.Errorf("got %q, want %q", got, tt.where)
			}
			if d := cmp.Diff(e.Lines, tt.want); d != "" {
				t.Errorf("traceback (-got +want):\n%s", d)
			}
		})
	}
}

func TestLongTraceback(t *testing.T) {
	e := mustFail(t, newSession(t, Bounds{}), "def f(n): return f(n - 1) if n else 1 // 0\nf(100)")
	if want := 3*(4+8) + 2; len(e.Lines) != want {
		t.Errorf("got %d lines, want %d", len(e.Lines), want)
	}
	if got, want := e.Lines[12], "... 90 more calls"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestManyUndefined(t *testing.T) {
	src := ""
	for i := range 30 {
		src += fmt.Sprintf("qqq%dqqq\n", i)
	}
	e := mustFail(t, newSession(t, Bounds{}), src)
	if want := 3*10 + 2; len(e.Lines) != want || e.Lines[30] != "and 20 more" {
		t.Errorf("got %d lines, %q", len(e.Lines), e.Lines[30])
	}
}

func TestExcerpt(t *testing.T) {
	long := strings.Repeat("a", 100) + "X" + strings.Repeat("b", 100)
	tests := []struct {
		line       string
		column     int
		src, caret string
	}{
		{"", 1, "", ""},
		{"   ", 2, "", ""},
		{"abc", 1, "abc", "^"},
		{"    abc", 6, "abc", " ^"},
		{"    abc", 2, "   abc", "^"},
		{"abc", 4, "abc", "   ^"},
		{"abc", 99, "abc", "   ^"},
		{"abc", 0, "abc", "^"},
		{long, 101, "..." + strings.Repeat("a", 60) + "X" + strings.Repeat("b", 59) + "...", strings.Repeat(" ", 63) +
			"^"},
	}
	for _, tt := range tests {
		src, caret := excerpt(tt.line, tt.column)
		if src != tt.src || caret != tt.caret {
			t.Errorf("excerpt(%.20q, %d): got %q, %q, want %q, %q", tt.line, tt.column, src, caret, tt.src, tt.caret)
		}
	}
}

func TestPanicHasStack(t *testing.T) {
	e := mustFail(t, newSession(t, Bounds{}), "boom()")
	if !strings.Contains(string(e.Stack), "fake_test.go") {
		t.Errorf("the Go stack does not show the word:\n%s", e.Stack)
	}
	for _, line := range e.Lines {
		if strings.Contains(line, ".go") || strings.Contains(line, "goroutine") {
			t.Errorf("the Go stack shows in %q", line)
		}
	}
}
