package session

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"go.starlark.net/starlark"

	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

// brief writes outputs in one line each.
func brief(out []notebook.Output) []string {
	var lines []string
	for _, o := range out {
		switch o.Type {
		case notebook.StreamOutput:
			lines = append(lines, fmt.Sprintf("%s %q", o.Stream, o.Text))
		case notebook.ErrorOutput:
			lines = append(lines, "error "+o.Error.Name+": "+o.Error.Value)
		default:
			lines = append(lines, fmt.Sprintf("%s %v", o.Type, o.Data["text/plain"]))
		}
	}
	return lines
}

func TestOutputs(t *testing.T) {
	tests := []struct {
		name, src string
		want      []string
	}{
		{"nothing", "x = 1", nil},
		{"empty", "", nil},
		{"only a comment", "# nothing\n", nil},
		{"value", "1 + 1", []string{"execute_result 2"}},
		{"text", "'a'", []string{`execute_result "a"`}},
		{"none", "None", nil},
		{"not the last", "1\nx = 2", nil},
		{"in a block", "if True:\n  5", nil},
		{"print", "print(1, 'a', [2], sep='-')\nprint('b', end='')", []string{`stdout "1-a-[2]\nb"`}},
		{"print before value", "print('a')\n7", []string{`stdout "a\n"`, "execute_result 7"}},
		{"order", "print('a')\nprint('b')\nshow(3)\nprint('c')\nshow(4)\nshow(5)\n6", []string{
			`stdout "a\nb\n"`, "display_data 3", `stdout "c\n"`, "display_data 4", "display_data 5",
			"execute_result 6"}},
		{"failure", "print('a')\n1 // 0\nprint('b')", []string{`stdout "a\n"`,
			"error ZeroDivisionError: cell:2:3: floored division by zero"}},
		{"carriage returns", "print(1)\r\nprint(2)\r3", []string{`stdout "1\n2\n"`, "execute_result 3"}},
		{"byte order mark", "\ufeff5", []string{"execute_result 5"}},
		{"wrong bytes", "'a\xff'", []string{"execute_result \"a\ufffd\""}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			out, _, _ := runCell(newSession(t, Bounds{}), "cell", tt.src)
			if d := cmp.Diff(brief(out), tt.want); d != "" {
				t.Errorf("outputs (-got +want):\n%s", d)
			}
		})
	}
}

func TestPrintIsGathered(t *testing.T) {
	out, _, err := runCell(newSession(t, Bounds{}), "cell", "for i in range(10000): print(i)")
	if err != nil {
		t.Fatal(err)
	}
	text := ""
	for _, o := range out {
		text += o.Text
	}
	want := ""
	for i := range 10000 {
		want += fmt.Sprintln(i)
	}
	if text != want {
		t.Errorf("got %d bytes, want %d", len(text), len(want))
	}
	if most := len(want)/chunk + 1; len(out) > most {
		t.Errorf("got %d outputs, want at most %d", len(out), most)
	}
}

func TestRunReturnsValue(t *testing.T) {
	s := newSession(t, Bounds{})
	for src, want := range map[string]starlark.Value{"x = 1": nil, "None": starlark.None, "x": starlark.MakeInt(1),
		"y": nil} {
		_, v, err := runCell(s, "cell", "x = 1\n"+src)
		if v != want || (err != nil) != (src == "y") {
			t.Errorf("%s: got %v, %v, want %v", src, v, err, want)
		}
	}
}

func TestShow(t *testing.T) {
	blocks := []document.Block{document.Plain("a length")}
	s, err := New(Config{
		Words: words(),
		Show: func(v starlark.Value) (Shown, error) {
			switch v := v.(type) {
			case amount:
				return Shown{Blocks: blocks, Text: "plain"}, nil
			case starlark.Int:
				return Shown{Text: "the number " + v.String()}, nil
			case starlark.Bool:
				panic("no picture")
			case starlark.Float:
				return Shown{}, advised{}
			}
			return Shown{}, nil
		},
		Bundle: func(b []document.Block) map[string]any { return map[string]any{"text/html": fmt.Sprint(len(b))} },
	})
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		src  string
		want map[string]any
	}{
		{"nm", map[string]any{"text/html": "1", "text/plain": "plain"}},
		{"5", map[string]any{"text/plain": "the number 5"}},
		{"[5]", map[string]any{"text/plain": "[5]"}},
	}
	for _, tt := range tests {
		out, _, err := runCell(s, "cell", tt.src)
		if err != nil || len(out) != 1 {
			t.Fatalf("%s: got %d outputs, %v", tt.src, len(out), err)
		}
		if d := cmp.Diff(out[0].Data, tt.want); d != "" || out[0].Count != 1 {
			t.Errorf("%s: count %d, data (-got +want):\n%s", tt.src, out[0].Count, d)
		}
		if got := len(out[0].Blocks); (got == 1) != (tt.src == "nm") {
			t.Errorf("%s: got %d blocks", tt.src, got)
		}
	}
	e := mustFail(t, s, "True")
	if e.Kind != InternalError || e.Message != "showing bool: fault inside the program: no picture" {
		t.Errorf("got %s: %s", e.Kind, e.Message)
	}
	e = mustFail(t, s, "2.5")
	if e.Kind != CellError || e.Message != "cannot show float: no such crystal" || e.Hint == "" {
		t.Errorf("got %s: %s", e.Kind, e.Message)
	}
	if got := mustRun(t, s, "_"); got != "[5]" {
		t.Errorf("_ after a failure: got %s, want [5]", got)
	}
}

func TestLongValueIsCut(t *testing.T) {
	s := newSession(t, Bounds{})
	for src, want := range map[string]string{
		"['é'] * 50000":  `["é", "é"`,
		"'é' * 100000":   `"éé`,
		"'aé' * 100000":  `"aéaé`,
		"'\\n' * 60000":  `"\n\n`,
		"range(1000000)": "range(1000000)",
	} {
		out, _, err := runCell(s, "cell", src)
		if err != nil {
			t.Fatal(err)
		}
		got := out[0].Data["text/plain"].(string)
		if !strings.HasPrefix(got, want) || len(got) > displayText+4 || strings.ContainsRune(got, '\ufffd') {
			t.Errorf("%s: got %d bytes, %.20s", src, len(got), got)
		}
	}
}

// TestEndlessValue shows a list whose text would be longer than any memory, with a Show that writes it.
func TestEndlessValue(t *testing.T) {
	s, err := New(Config{Show: func(v starlark.Value) (Shown, error) { return Shown{Text: v.String()}, nil }})
	if err != nil {
		t.Fatal(err)
	}
	out, _, err := runCell(s, "cell", "x = [1]\nfor i in range(60): x = [x, x]\nx")
	if err != nil {
		t.Fatal(err)
	}
	if got := out[0].Data["text/plain"].(string); len(got) > displayText+4 || !strings.HasSuffix(got, " ...") {
		t.Errorf("got %d bytes, %.20s", len(got), got)
	}
}

func TestNew(t *testing.T) {
	for _, name := range []string{"", " globals", "a b", "1a", "a-b"} {
		if _, err := New(Config{Words: starlark.StringDict{name: starlark.None}}); err == nil {
			t.Errorf("word %q: got no error", name)
		}
	}
	if _, err := New(Config{Words: starlark.StringDict{"a": nil}}); err == nil {
		t.Error("a word without a value: got no error")
	}
	s, err := New(Config{Words: starlark.StringDict{"µm": starlark.MakeInt(1), "len": starlark.MakeInt(2)}})
	if err != nil {
		t.Fatal(err)
	}
	if got := mustRun(t, s, "µm + len"); got != "3" {
		t.Errorf("got %s, want 3", got)
	}
}

func TestNames(t *testing.T) {
	s := newSession(t, Bounds{})
	mustRun(t, s, "zeta = 1\ndef theta(): return 1\nx = [1]\nx[0] *= 2\n[k for k in x]")
	has := map[string]bool{}
	names := s.Names()
	for i, n := range names {
		has[n] = true
		if hidden(n) || i > 0 && names[i-1] >= n {
			t.Errorf("name %q is hidden or out of order", n)
		}
	}
	for name, want := range map[string]bool{"zeta": true, "theta": true, "len": true, "nm": true, "_": true,
		"k": false} {
		if _, found := s.Lookup(name); has[name] != want || found != want {
			t.Errorf("%s: got %t and %t, want %t", name, has[name], found, want)
		}
	}
	if _, found := s.Lookup(nameGlobals); found {
		t.Error("a hidden name can be looked up")
	}
	f, _ := s.Lookup("theta")
	if got := f.(*starlark.Function).Name(); got != "theta" {
		t.Errorf("the function is called %q, want theta", got)
	}
}

func TestLocals(t *testing.T) {
	var got any
	s, err := New(Config{
		Local: map[string]any{"host": "the host", "other": 5},
		Words: starlark.StringDict{"ask": builtin("ask", func(th *starlark.Thread, _ starlark.Tuple) (starlark.Value,
			error) {
			got = fmt.Sprint(th.Local("host"), th.Local("other"), ContextOf(th).Value(key{}))
			th.Print(th, "printed by a word")
			return starlark.None, nil
		})},
	})
	if err != nil {
		t.Fatal(err)
	}
	var out []notebook.Output
	ctx := context.WithValue(context.Background(), key{}, "the context")
	if _, err := s.Run(ctx, Cell{Name: "cell", Source: "ask()"},
		func(o notebook.Output) { out = append(out, o) }); err != nil {
		t.Fatal(err)
	}
	if want := "the host5the context"; got != want {
		t.Errorf("got %v, want %v", got, want)
	}
	if d := cmp.Diff(brief(out), []string{`stdout "printed by a word\n"`}); d != "" {
		t.Error(d)
	}
	if got := ContextOf(new(starlark.Thread)); got != context.Background() {
		t.Errorf("without a cell: got %v", got)
	}
}

type key struct{}

func TestEmitAndFlush(t *testing.T) {
	var s *Session
	var during error
	w := words()
	w["flush"] = builtin("flush", func(*starlark.Thread, starlark.Tuple) (starlark.Value, error) {
		return starlark.None,
			s.Flush()
	})
	w["emit"] = builtin("emit", func(*starlark.Thread, starlark.Tuple) (starlark.Value, error) {
		during = s.Emit(notebook.Output{Type: notebook.DisplayOutput, Data: map[string]any{"text/plain": "shown"}})
		return starlark.None, nil
	})
	s, err := New(Config{Words: w})
	if err != nil {
		t.Fatal(err)
	}
	out, _, err := runCell(s, "cell", "print(1)\nflush()\nprint(2)\nemit()\nprint(3)")
	if err != nil || during != nil {
		t.Fatal(err, during)
	}
	if d := cmp.Diff(brief(out), []string{`stdout "1\n"`, `stdout "2\n"`, "display_data shown",
		`stdout "3\n"`}); d != "" {
		t.Error(d)
	}
	if err := s.Emit(notebook.Output{}); !errors.Is(err, ErrIdle) {
		t.Errorf("Emit without a cell: got %v", err)
	}
	if err := s.Flush(); !errors.Is(err, ErrIdle) {
		t.Errorf("Flush without a cell: got %v", err)
	}
	if err := Emit(new(starlark.Thread), notebook.Output{}); !errors.Is(err, ErrIdle) {
		t.Errorf("Emit without a thread: got %v", err)
	}
}

// TestDeepCells runs cells that nest so far that a recursion over them would use up the stack.
func TestDeepCells(t *testing.T) {
	const n = 50_000
	for name, src := range map[string]string{
		"sum":        "x = 1\nx" + strings.Repeat("+x", n),
		"difference": "x = 1\nx" + strings.Repeat("-x", n),
		"product":    "x = 1\nx" + strings.Repeat("*x", n),
		"power":      "x = 1\nx" + strings.Repeat("**x", n),
		"index":      "x = 1\nx" + strings.Repeat("[0]", n),
		"call":       "x = 1\nx" + strings.Repeat("()", n),
		"attribute":  "x = 1\nx" + strings.Repeat(".y", n),
		"elif":       "x = 1\nif x: pass\n" + strings.Repeat("elif x: pass\n", n),
	} {
		t.Run(name, func(t *testing.T) {
			s := newSession(t, Bounds{})
			out, _, err := runCell(s, "cell", src)
			var e *Error
			if !errors.As(err, &e) || e.Kind != SyntaxError || !strings.Contains(e.Message,
				"parts inside one another") || len(out) != 1 {
				t.Errorf("got %.200v", err)
			}
			for _, l := range e.Lines {
				if len(l) > 200 {
					t.Errorf("a line of %d bytes in the traceback", len(l))
				}
			}
		})
	}
	// What people write is far below the bound.
	s := newSession(t, Bounds{})
	if got := mustRun(t, s, "x = 1", "x"+strings.Repeat("+x*x**2", 1000)); got != "1001" {
		t.Errorf("got %s, want 1001", got)
	}
	if e := mustFail(t, s, "x = 1", "#"+strings.Repeat(" ", sourceSize)); e.Kind != LimitError {
		t.Errorf("got %v", e)
	}
}

// TestDeafWord stops a cell whose word shows too much and does not look at the error.
func TestDeafWord(t *testing.T) {
	w := words()
	w["deaf"] = builtin("deaf", func(th *starlark.Thread, _ starlark.Tuple) (starlark.Value, error) {
		_ = Emit(th, notebook.Output{Type: notebook.DisplayOutput})
		return starlark.None, nil
	})
	s, err := New(Config{Words: w, Bounds: small})
	if err != nil {
		t.Fatal(err)
	}
	e := mustFail(t, s, "for i in range(100):\n  deaf()\n  last = i")
	if e.Kind != LimitError {
		t.Errorf("got %v", e)
	}
	if got, want := mustRun(t, s, "last"), fmt.Sprint(small.Outputs-1); got != want {
		t.Errorf("the cell got as far as %s, want %s", got, want)
	}
}

// TestLateWord has a word that keeps its thread, as one with a goroutine would, and speaks too late.
func TestLateWord(t *testing.T) {
	var kept *starlark.Thread
	w := words()
	w["keep"] = builtin("keep", func(th *starlark.Thread, _ starlark.Tuple) (starlark.Value, error) {
		kept = th
		return starlark.None, nil
	})
	s, err := New(Config{Words: w})
	if err != nil {
		t.Fatal(err)
	}
	count := 0
	if _, err := s.Run(context.Background(), Cell{Name: "cell", Source: "keep()"},
		func(notebook.Output) { count++ }); err != nil {
		t.Fatal(err)
	}
	if err := Emit(kept, notebook.Output{}); !errors.Is(err, ErrIdle) {
		t.Errorf("got %v, want %v", err, ErrIdle)
	}
	kept.Print(kept, "late")
	if count != 0 {
		t.Errorf("got %d outputs, want none", count)
	}
}

// TestConcurrency is for the race detector: names are read while a cell assigns them, and two cells that
// come at once run one after the other.
func TestConcurrency(t *testing.T) {
	s := newSession(t, Bounds{})
	mustRun(t, s, "n = 0")
	var wait sync.WaitGroup
	for i := range 4 {
		wait.Go(func() {
			if _, _, err := runCell(s, fmt.Sprintf("cell %d", i), "for i in range(2000): n += 1"); err != nil {
				t.Error(err)
			}
		})
		wait.Go(func() {
			for range 50 {
				s.Names()
				s.Lookup("n")
			}
		})
	}
	wait.Wait()
	if got := mustRun(t, s, "n"); got != "8000" {
		t.Errorf("got %s, want 8000", got)
	}
}

func TestFailureKeepsWhatWasAssigned(t *testing.T) {
	s := newSession(t, Bounds{})
	e := mustFail(t, s, "a = 1\nb = a // 0\nc = 3")
	if e.Line != 2 {
		t.Errorf("got line %d, want 2", e.Line)
	}
	if got := mustRun(t, s, "a"); got != "1" {
		t.Errorf("got %s, want 1", got)
	}
	if e := mustFail(t, s, "c"); e.Kind != NameError {
		t.Errorf("got %s, want %s", e.Kind, NameError)
	}
}
