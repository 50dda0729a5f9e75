package session

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wedgework/reports/notebook"
)

// FuzzRun runs whatever comes as a cell. It must end, with no error or with an *Error whose place lies in
// the cell, whose kind does not blame the program, and in which nothing shows of what is hidden.
func FuzzRun(f *testing.F) {
	files, _ := filepath.Glob("testdata/*.star")
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		for _, chunk := range strings.Split(string(data), "\n---\n") {
			f.Add(chunk)
		}
	}
	tight := small
	tight.Steps, tight.Heap = 100_000, 64<<20
	f.Fuzz(func(t *testing.T, src string) {
		w := words()
		for _, name := range []string{"boom", "eq", "apply", "show"} { // these panic on wrong arguments
			delete(w, name)
		}
		s, err := New(Config{Words: w, Bounds: tight})
		if err != nil {
			t.Fatal(err)
		}
		var last notebook.Output
		_, err = s.Run(context.Background(), Cell{Name: "cell", Source: src}, func(o notebook.Output) { last = o })
		IsComplete(src)
		if err == nil {
			return
		}
		var e *Error
		if !errors.As(err, &e) {
			t.Fatalf("got %T", err)
		}
		lines := strings.Split(clean(src), "\n")
		if e.Line > len(lines) || e.Column > len([]rune(lines[max(0, e.Line-1)]))+1 ||
			last.Type != notebook.ErrorOutput {
			t.Errorf("%s: %v, last output %s", e.Kind, e, last.Type)
		}
		if e.Kind == InternalError && !strings.Contains(src, "explode") && !strings.Contains(src, "broken") {
			t.Errorf("%v\n%s", e, e.Stack)
		}
		for _, name := range []string{"globals", "invoke", "caller"} {
			if strings.Contains(e.Message, name) && !strings.Contains(src, name) {
				t.Errorf("%q shows in %q", name, e.Message)
			}
		}
	})
}
