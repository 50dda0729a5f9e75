package session

import (
	"context"
	"errors"
	"testing"
	"time"

	"go.starlark.net/starlark"
)

// stoppable is a session with a word that ends the context of its cell, and one that also waits for the end.
func stoppable(t *testing.T) (*Session, func(ctx context.Context, src string) error) {
	t.Helper()
	var cancel context.CancelFunc
	w := words()
	w["interrupt"] = builtin("interrupt", func(*starlark.Thread, starlark.Tuple) (starlark.Value, error) {
		cancel()
		return starlark.None, nil
	})
	// The context ends inside the word, so that the interruption cannot fall on an earlier step of the cell.
	w["wait"] = builtin("wait", func(th *starlark.Thread, _ starlark.Tuple) (starlark.Value, error) {
		ctx := ContextOf(th)
		cancel()
		<-ctx.Done()
		return nil, ctx.Err()
	})
	s, err := New(Config{Words: w})
	if err != nil {
		t.Fatal(err)
	}
	return s, func(ctx context.Context, src string) error {
		ctx, cancel = context.WithCancel(ctx)
		defer cancel()
		_, err := s.Run(ctx, Cell{Name: "cell", Source: src}, nil)
		return err
	}
}

func TestInterrupt(t *testing.T) {
	past, cancel := context.WithDeadline(context.Background(), time.Unix(0, 0))
	defer cancel()
	tests := []struct {
		name    string
		ctx     context.Context
		src     string
		line    int
		message string
	}{
		{"in a loop", context.Background(), "x = 1\ninterrupt()\nwhile True:\n  pass", 3, "interrupted"},
		{"in a function", context.Background(), "def f():\n  while True: pass\ninterrupt()\nf()", 2, "interrupted"},
		{"in a word", context.Background(), "x = [\n  1,\n  wait()]", 3, "interrupted"},
		{"before it starts", past, "x = 1\nwhile True: x = 2", 1, "this cell has run out of the time it was given"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, run := stoppable(t)
			var e *Error
			if err := run(tt.ctx, tt.src); !errors.As(err, &e) {
				t.Fatalf("got %v", err)
			}
			if e.Kind != Interrupted || e.Message != tt.message {
				t.Errorf("got %s: %s, want %s: %s", e.Kind, e.Message, Interrupted, tt.message)
			}
			// In a loop the interruption falls on one of its lines; a word and a start are exact.
			if tt.name != "in a loop" && tt.name != "in a function" && e.Line != tt.line {
				t.Errorf("got line %d, want %d", e.Line, tt.line)
			}
			for range 3 {
				if got := mustRun(t, s, "x = 5", "x"); got != "5" {
					t.Errorf("afterwards: got %s, want 5", got)
				}
			}
		})
	}
}

func TestContextErrorOfAWordAlone(t *testing.T) {
	w := words()
	w["give_up"] = builtin("give_up", func(*starlark.Thread, starlark.Tuple) (starlark.Value, error) {
		return nil, context.Canceled // its own context, not the cell's
	})
	s, err := New(Config{Words: w})
	if err != nil {
		t.Fatal(err)
	}
	if e := mustFail(t, s, "give_up()"); e.Kind != CellError || !errors.Is(e, context.Canceled) {
		t.Errorf("got %s: %v", e.Kind, e)
	}
}

func TestHeap(t *testing.T) {
	const limit = 24 << 20
	tests := []struct {
		name, src string
		bytes     int // that an element of x keeps
	}{
		{"a list grows", "x = []\nwhile True: x.append('a' * 10000 + 'b')", 10001},
		{"a list grows in place", "x = []\nwhile True: x += list(range(1000))", 16},
		{"a text grows", "x = []; y = 'a' * 1000000\nwhile True: x.append(y + y)", 2_000_000},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := newSession(t, Bounds{Heap: limit})
			e := mustFail(t, s, tt.src)
			if want := "memory has grown by more than the limit of 24 MiB while this cell ran"; e.Kind != LimitError ||
				e.Message != want || e.Line != 2 {
				t.Errorf("got %s, line %d: %s", e.Kind, e.Line, e.Message)
			}
			x, _ := s.Lookup("x")
			if kept := starlark.Len(x) * tt.bytes; kept > 20*limit { // generous, for a loaded machine
				t.Errorf("the cell was stopped when it held %d bytes", kept)
			}
			mustRun(t, s, "x = None", "x = [1] * 1000")
		})
	}
	t.Run("garbage is allowed", func(t *testing.T) {
		s := newSession(t, Bounds{Heap: limit})
		mustRun(t, s, "for i in range(20000): x = 'a' * 20000") // 400 MB in all, 20 kB at a time
	})
}

// TestGrown: a limit of 10 counts what lives beyond the objects there were, and as much again of garbage.
func TestGrown(t *testing.T) {
	before := heap{live: 3, objects: 5}
	tests := []struct {
		now  heap
		want bool
	}{
		{before, false},
		{heap{15, 15}, false},
		{heap{16, 16}, true},
		{heap{3, 28}, false},
		{heap{3, 29}, true},
		{heap{1, 1}, false},
	}
	for _, tt := range tests {
		if got := grown(before, tt.now, 10); got != tt.want {
			t.Errorf("from %+v to %+v: got %t", before, tt.now, got)
		}
	}
}

func TestKinds(t *testing.T) {
	tests := []struct{ src, kind, hint string }{
		{"x =", SyntaxError, ""},
		{"return", SyntaxError, ""},
		{"load('a', 'b')", CellError, ""}, // no file can be read in this session
		{"1 < 2 < 3", SyntaxError, "write a < b and b < c"},
		{"x = y = 1", SyntaxError, "assign to one name at a time; to compare write =="},
		{"x = f'{1}'", SyntaxError, "there are no f-strings: write '%.3f' % x"},
		{"print(f\"a\")", SyntaxError, "there are no f-strings: write '%.3f' % x"},
		{"print(half'a')", SyntaxError, ""},
		{"x = 5 is 5", SyntaxError, "write == instead"},
		{"nothing", NameError, ""},
		{"print(x)\nx = 1", NameError, ""},
		{"x += 1", NameError, ""},
		{"x *= 1", NameError, ""},
		{"def f():\n  a += 1\nf()", NameError, ""},
		{"1 // 0", CellError, ""},
		{"fail('x')", CellError, ""},
		{"hinting()", CellError, "there are calcite and YVO4"},
		{"nm == 1", CellError, ""},
		{"[1] * 10**9", LimitError, ""},
		{"apply(lambda: [1] * 10**9)", LimitError, ""},
		{"list(range(5000000))", LimitError, ""},
		{"reading()", CellError, ""},
		{"boom()", InternalError, "this is a fault of the program and not of the cell"},
		{"apply(boom)", InternalError, "this is a fault of the program and not of the cell"},
	}
	for _, tt := range tests {
		e := mustFail(t, newSession(t, Bounds{}), tt.src)
		if e.Kind != tt.kind || e.Hint != tt.hint {
			t.Errorf("%s: got %s, hint %q, want %s, %q (%v)", tt.src, e.Kind, e.Hint, tt.kind, tt.hint, e)
		}
		if (e.Stack != nil) != (tt.kind == InternalError) {
			t.Errorf("%s: a Go stack of %d bytes", tt.src, len(e.Stack))
		}
	}
}
