package session

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// TestScripts runs testdata/*.star. A file is a session, and its parts between lines of --- are the cells.
// A line that must fail ends with ### and a quoted pattern, which is matched with "column: message".
func TestScripts(t *testing.T) {
	files, err := filepath.Glob("testdata/*.star")
	if err != nil || len(files) == 0 {
		t.Fatalf("no scripts: %v", err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) { runScript(t, file) })
	}
}

func runScript(t *testing.T, file string) {
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	s := newSession(t, small)
	above := 0
	for i, chunk := range strings.Split(string(data), "\n---\n") {
		line, pattern := expectation(t, file, chunk, above)
		// Empty lines in front make the lines of the cell those of the file.
		_, _, err := runCell(s, fmt.Sprintf("%s cell %d", file, i+1), strings.Repeat("\n", above)+chunk)
		above += strings.Count(chunk, "\n") + 2
		var e *Error
		switch {
		case err == nil && pattern != nil:
			t.Errorf("%s:%d: got no error, want %s", file, line, pattern)
		case err != nil && !errors.As(err, &e):
			t.Errorf("%s: got %T, want *Error", file, err)
		case err != nil && pattern == nil:
			t.Errorf("unexpected: %v\n%s", err, strings.Join(e.Lines, "\n"))
		case err != nil && (e.Line != line || !pattern.MatchString(fmt.Sprintf("%d: %s", e.Column, e.Message))):
			t.Errorf("%s:%d: want %s, got %v", file, line, pattern, err)
		}
	}
}

func expectation(t *testing.T, file, chunk string, above int) (line int, pattern *regexp.Regexp) {
	for j, text := range strings.Split(chunk, "\n") {
		_, quoted, ok := strings.Cut(text, "###")
		if !ok {
			continue
		}
		p, err := strconv.Unquote(strings.TrimSpace(quoted))
		if err != nil {
			t.Fatalf("%s:%d: not a quoted pattern: %s", file, above+j+1, quoted)
		}
		if pattern != nil {
			t.Fatalf("%s:%d: a cell fails once", file, above+j+1)
		}
		line, pattern = above+j+1, regexp.MustCompile(p)
	}
	return line, pattern
}
