package main

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"wedgework/kernel/session"
)

func TestDrawBar(t *testing.T) {
	p := session.Progress{Task: "trials", Done: 45, Total: 100, Elapsed: 5 * time.Second}
	tests := []struct {
		name  string
		p     session.Progress
		width int
		want  string
	}{
		{"half way", p, 80, "[#########...........] trials: 45 %, 6 s left, 9 a second, 45 of 100"},
		{"a narrow terminal", p, 30, "[#########...........] trials"},
		{"nobody knows how far", session.Progress{Task: "fit", Done: 3, Elapsed: 2 * time.Second}, 80,
			"fit: 3 done, 2 s so far, 1.5 a second"},
		{"over", session.Progress{Task: "fit", Over: true}, 80, ""},
	}
	for _, tt := range tests {
		var b bytes.Buffer
		drawBar(&b, tt.p, tt.width)
		if got, ok := strings.CutPrefix(b.String(), "\r\x1b[K"); !ok || got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, b.String(), tt.want)
		}
	}
}

// TestNoBarInALog: standard error that is no terminal gets none.
func TestNoBarInALog(t *testing.T) {
	a := &app{err: new(bytes.Buffer)}
	if a.watcher() != nil {
		t.Error("a buffer is taken for a terminal")
	}
}
