package session

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

// inspectable is a session of the test words that has run a few cells.
func inspectable(t testing.TB) *Session {
	t.Helper()
	w := words()
	s, err := New(Config{
		Words: w,
		Outline: func(typ string) *Outline {
			if typ == "list" {
				return &Outline{Item: "string"}
			}
			return nil
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	src := "x = [1, 'two', {'three': 3, 'four': [4]}]\nt = (1, x)\ndef f(a, b=2, *c, d=3, **e):\n    'makes one of " +
		"two'\n    return a\n"
	if _, err := s.Run(context.Background(), Cell{Name: "cell 1", Source: src}, nil); err != nil {
		t.Fatal(err)
	}
	return s
}

// TestWhileCellsRun asks for completion and inspection while a cell changes the lists and dicts that are asked about;
// the race detector looks on. Nothing of it waits for the cell.
func TestWhileCellsRun(t *testing.T) {
	s := inspectable(t)
	ctx, cancel := context.WithCancel(context.Background())
	started, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		first := true
		emit := func(notebook.Output) {
			if first {
				close(started)
				first = false
			}
		}
		// Wherever it is interrupted, the list has its first three elements and the dict its first key.
		src := "show(1)\nwhile True:\n    x[2]['k%d' % len(x[2])] = len(x)\n    x.append(1)\n    y = len(x)\n    if " +
			"len(x) > 100:\n" +
			"        for k in x[2].keys():\n            if k != 'three': x[2].pop(k)\n        for i in range(len(x) " +
			"- 3): x.pop()\n"
		_, _ = s.Run(ctx, Cell{Name: "cell 2", Source: src}, emit)
	}()
	<-started
	for range 200 {
		for _, src := range []string{"x", "x[2]", "x[2][\"", "x.", "t[1].", "f(", "f(a, b", "y", "t", "x[0] + x"} {
			s.Complete(src, len(src))
			s.Inspect(src, len(src), 1)
		}
	}
	select {
	case <-ended:
		t.Error("the cell had ended: nothing was asked while it ran")
	default:
	}
	cancel()
	<-ended
	if c := s.Complete(`x[2]["th`, 8); len(c.Matches) != 1 || c.Matches[0].Text != "three" {
		t.Errorf("after the cell %v, want the key of the dict", c.Matches)
	}
}

// TestIndexFromTheEnd: x[-1] is the last element, as in a cell, and no index leads out of a list.
func TestIndexFromTheEnd(t *testing.T) {
	s := inspectable(t)
	tests := []struct{ src, want string }{
		{"x[-1]", `{"three": 3, "four": [4]}`},
		{"x[-2]", `string: "two"`},
		{"x[-3]", "int: 1"},
		{"x[2]", `{"three": 3, "four": [4]}`},
		{"t[-1][-3]", "int: 1"},
		{"x[-4]", "string"}, // the type is all that is known
		{"x[3]", "string"},
	}
	for _, tt := range tests {
		o, release := s.oracle(ptr(locate(tt.src, len(tt.src))))
		got := document.Text(o.describe(o.text(tt.src, 0), 0))
		release()
		if strings.TrimSpace(got) != tt.want {
			t.Errorf("%s: got %s, want %s", tt.src, got, tt.want)
		}
	}
	const src = `x[-1]["th`
	if c := s.Complete(src, len(src)); len(c.Matches) != 1 || c.Matches[0].Text != "three" {
		t.Errorf("%s: got %v", src, c.Matches)
	}
}

func ptr[T any](v T) *T { return &v }

// FuzzComplete asks about every place of whatever is written: the answer replaces a part of the source that ends
// at the cursor, goes on from what is typed, shows nothing of what is hidden, and runs nothing.
func FuzzComplete(f *testing.F) {
	files, _ := filepath.Glob("testdata/*.star")
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		for _, chunk := range strings.Split(string(data), "\n---\n") {
			f.Add(chunk, len(chunk)/2)
		}
	}
	for _, src := range []string{"f(a, [b, {\"c\": (", "x[2]['", "\"\"\"a", "r'\\", "f(**{'a': 1}).b[", "x.\n y", "1e+",
		"\xff\xfe(", "((((((((", "a=b=c==d\na.", "5*", "def f(a, b=[", "x=x\nx."} {
		f.Add(src, len(src))
	}
	s := inspectable(f)
	before := fmt.Sprint(s.Names())
	f.Fuzz(func(t *testing.T, src string, cursor int) {
		c := s.Complete(src, cursor)
		runes := []rune(src)
		if c.Start < 0 || c.Start > c.End || c.End > len(runes) || cursor >= 0 && cursor <= len(runes) &&
			c.End != cursor {
			t.Fatalf("cursor %d: from %d to %d of %d", cursor, c.Start, c.End, len(runes))
		}
		for _, m := range c.Matches {
			if !strings.HasPrefix(m.Text, string(runes[c.Start:c.End])) || m.Kind != TextMatch && hidden(m.Text) {
				t.Errorf("%q at %q", m, string(runes[c.Start:c.End]))
			}
		}
		for detail := range 2 {
			if blocks, found := s.Inspect(src, cursor, detail); found != (len(blocks) > 0) {
				t.Errorf("found is %t with %d blocks", found, len(blocks))
			}
		}
		if after := fmt.Sprint(s.Names()); after != before {
			t.Errorf("the names are now %s", after)
		}
	})
}

// BenchmarkComplete asks behind a cell of a thousand lines.
func BenchmarkComplete(b *testing.B) {
	s := inspectable(b)
	src := strings.Repeat("value = f(1, b=[2, 3], d='four')  # and a remark\n", 1000) + "value."
	for b.Loop() {
		s.Complete(src, len(src))
	}
}
