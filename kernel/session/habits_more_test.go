package session

import (
	"context"
	"strings"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

// TestOut reads the results of cells by their numbers.
func TestOut(t *testing.T) {
	s := newSession(t, Bounds{})
	for i, src := range []string{"1 + 1", "x = 5", "'three'"} {
		if _, err := s.Run(context.Background(), Cell{Name: "c", Number: i + 1, Source: src}, nil); err != nil {
			t.Fatal(err)
		}
	}
	if got := mustRun(t, s, "[Out[1], Out[3], _]"); got != `[2, "three", "three"]` {
		t.Errorf("got %s", got)
	}
	for src, want := range map[string]string{"Out[2]": "that cell has no result", "Out['a']": "the number of a cell"} {
		if e := mustFail(t, s, src); !strings.Contains(e.Message, want) {
			t.Errorf("%s: %s, want %q", src, e.Message, want)
		}
	}
	for i := range mostResults + 1 {
		if _, err := s.Run(context.Background(), Cell{Name: "c", Number: 10 + i, Source: "1"}, nil); err != nil {
			t.Fatal(err)
		}
	}
	mustFail(t, s, "Out[1]")
}

// TestErrorNames names errors by what went wrong.
func TestErrorNames(t *testing.T) {
	s := newSession(t, small)
	for src, want := range map[string]string{
		"1 // 0":               "ZeroDivisionError",
		"1.0 / 0":              "ZeroDivisionError",
		"[1][3]":               "IndexError",
		"{'a': 1}['b']":        "KeyError",
		"'a'.nothing":          "AttributeError",
		"fail('x')":            "Failure",
		"undefined_name":       "NameError",
		"(":                    "SyntaxError",
		"len(1, 2)":            "ArgumentError",
		"(lambda x: x)()":      "ArgumentError",
		"(lambda x: x)(y=1)":   "ArgumentError",
		"'a' + 1":              "TypeError",
		"1()":                  "TypeError",
		"{[]: 1}":              "TypeError",
		"'a' < 1":              "TypeError",
		"while True:\n  pass":  "LimitError",
		"def f():\n  f()\nf()": "LimitError",
	} {
		e := mustFail(t, s, src)
		if e.Name() != want {
			t.Errorf("%q: %s (%s), want %s", src, e.Name(), e.Message, want)
		}
	}
}

// TestCautionSurvives clears the outputs of a cell: its cautions come again, at once, or before the next output where
// the clearing waits for one.
func TestCautionSurvives(t *testing.T) {
	caution := notebook.Output{Type: notebook.DisplayOutput, Blocks: []document.Block{document.Caution{Text: "mind"}}}
	clear := func(wait bool) notebook.Output { return notebook.Output{Type: notebook.ClearOutput, Wait: wait} }
	other := notebook.Output{Type: notebook.DisplayOutput, Data: map[string]any{"text/plain": "other"}}
	for name, c := range map[string]struct {
		sent []notebook.Output
		want string
	}{
		"at once":    {[]notebook.Output{caution, other, clear(false)}, "caution other clear caution"},
		"waiting":    {[]notebook.Output{caution, clear(true), other, other}, "caution clear caution other other"},
		"none shown": {[]notebook.Output{other, clear(false), other}, "other clear other"},
		"twice":      {[]notebook.Output{caution, clear(false), clear(false)}, "caution clear caution clear caution"},
		"no more":    {[]notebook.Output{caution, clear(true)}, "caution clear"},
		"before text": {[]notebook.Output{caution, clear(true), {Type: notebook.StreamOutput}},
			"caution clear caution text"},
	} {
		var got []string
		col := &collector{bounds: DefaultBounds(), emit: func(o notebook.Output) {
			switch {
			case isCaution(o):
				got = append(got, "caution")
			case o.Type == notebook.ClearOutput:
				got = append(got, "clear")
			case o.Type == notebook.StreamOutput:
				got = append(got, "text")
			default:
				got = append(got, "other")
			}
		}}
		for _, o := range c.sent {
			var err error
			if o.Type == notebook.StreamOutput {
				err = col.print("x")
			} else {
				err = col.send(o)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		col.close(nil)
		if text := strings.Join(got, " "); text != c.want {
			t.Errorf("%s: %s, want %s", name, text, c.want)
		}
	}
}

// TestCheckExpression tells an expression from what would change something.
func TestCheckExpression(t *testing.T) {
	s := newSession(t, Bounds{})
	for src, ok := range map[string]bool{"1 + 1": true, "x": true, "x = 1": false, "def f(): pass": false,
		"1; 2": false, "": false, "load('x', 'y')": false, "for i in []: pass": false} {
		if err := s.CheckExpression("e", src); (err == nil) != ok {
			t.Errorf("%q: %v, want it to be an expression: %v", src, err, ok)
		}
	}
}
