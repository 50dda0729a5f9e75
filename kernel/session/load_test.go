package session

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"go.starlark.net/starlark"

	"wedgework/reports/notebook"
)

// loading is a session whose cells load from files in memory; it counts how often each is read.
func loading(t *testing.T, files map[string]string) (s *Session, read map[string]int) {
	t.Helper()
	read = map[string]int{}
	s, err := New(Config{Source: func(_ *starlark.Thread, path string) ([]byte, error) {
		read[path]++
		src, ok := files[path]
		if !ok {
			return nil, fmt.Errorf("there is no file %s", path)
		}
		return []byte(src), nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	return s, read
}

func TestLoad(t *testing.T) {
	files := map[string]string{
		"parts.star": "load(\"base.star\", \"n\")\nlist = [n]\nlist += [2]\ndef twice(x):\n    return 2*x + " +
			"n\nprint(\"read\")\n",
		"base.star": "n = 1\n",
	}
	s, read := loading(t, files)
	var printed strings.Builder
	run := func(source string) (starlark.Value, error) {
		return s.Run(context.Background(), Cell{Name: "cell 1", Source: source}, func(o notebook.Output) {
			printed.WriteString(o.Text)
		})
	}
	v, err := run(`load("parts.star", "list", t="twice")
n = 100
(t(3), list)`)
	if err != nil || v.String() != "(7, [1, 2])" {
		t.Fatalf("got %v and %v, want (7, [1, 2]): a function sees the names of its own file", v, err)
	}
	if printed.String() != "read\n" || read["parts.star"] != 1 || read["base.star"] != 1 {
		t.Errorf("a cell that takes two names read the files %v times and printed %q, want once", read,
			printed.String())
	}
	// What was loaded stays as it is, and a cell that loads again sees the file as it is then.
	if _, err := run(`list.append(3)`); err == nil || !strings.Contains(err.Error(), "frozen") {
		t.Errorf("appending to a loaded list: %v, want a refusal", err)
	}
	files["base.star"] = "n = 5\n"
	if v, err := run(`load("parts.star", "list")
list`); err != nil || v.String() != "[5, 2]" {
		t.Errorf("after the file has changed: %v, %v, want [5, 2]", v, err)
	}
}

func TestLoadRefused(t *testing.T) {
	files := map[string]string{
		"a.star": "load(\"./b.star\", \"x\")\n", "b.star": "load(\"c.star\", \"x\")\n",
		"c.star":    "load(\"a.star\", \"x\")\n",
		"self.star": "load(\"self.star\", \"x\")\n", "syntax.star": "x = 1\ny = (2\n",
		"fails.star": "def f(n):\n    return n + \"a\"\nx = f(1)\n", "film.star": "film = 1\n",
		"long.star":    "x = " + strings.Repeat("1 + ", 400000) + "1\n",
		"forever.star": "while True:\n    pass\n",
	}
	for i := range deepestLoad + 1 {
		files[fmt.Sprintf("deep%d.star", i)] = fmt.Sprintf("load(\"deep%d.star\", \"x\")\n", i+1)
	}
	s, _ := loading(t, files)
	for source, want := range map[string]string{
		`load("a.star", "x")`:       "load: a.star loads itself: a.star loads b.star loads c.star loads a.star",
		`load("self.star", "x")`:    "load: self.star loads itself",
		`load("deep0.star", "x")`:   "load: files that load files are over the limit of 20 deep",
		`load("syntax.star", "x")`:  "load: syntax.star:",
		`load("fails.star", "x")`:   "unknown binary op: int + string",
		`load("film.star", "flim")`: "load: film.star has no name flim; did you mean film?",
		`load("none.star", "x")`:    "load: there is no file none.star",
		`load("long.star", "x")`:    "load: long.star: source of 1600006 bytes is over the limit",
	} {
		_, err := s.Run(context.Background(), Cell{Name: "cell 1", Source: source}, nil)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want %q", source, err, want)
		}
	}
	_, err := s.Run(context.Background(), Cell{Name: "cell 1", Source: `load("fails.star", "x")`}, nil)
	if e := err.(*Error); e.Cell != "fails.star" || e.Line != 2 {
		t.Errorf("the failure is placed at %s, line %d, want fails.star, line 2", e.Cell, e.Line)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
	defer cancel()
	_, err = s.Run(ctx, Cell{Name: "cell 1", Source: `load("forever.star", "x")`}, nil)
	if e := err.(*Error); e.Kind != Interrupted {
		t.Errorf("a file without end gives %v, want an interruption", err)
	}
	// A cell that was interrupted within a file leaves nothing behind.
	if _, err := s.Run(context.Background(), Cell{Name: "cell 2", Source: "1 + 1"}, nil); err != nil {
		t.Error(err)
	}
}
