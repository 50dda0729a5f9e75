package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestVisible(t *testing.T) {
	tests := []struct {
		pieces []string
		want   string
	}{
		{[]string{"isolation 34.1 dB\tλ = 1550 nm\n"}, "isolation 34.1 dB\tλ = 1550 nm\n"},
		{[]string{"\x1b[2J\x1b]0;title\x07"}, `\x1b[2J\x1b]0;title\x07`},
		{[]string{"pass\rfail\x08\x7f\x00"}, `pass\x0dfail\x08\u007f\x00`},
		{[]string{"\u009b31m"}, `\u009b31m`},
		{[]string{"a\u202eb\u2066c\u200fd\u2028"}, `a\u202eb\u2066c\u200fd\u2028`},
		{[]string{"\xff\xfe"}, `\xff\xfe`},
		{[]string{"10 \xc2", "\xb5m"}, "10 µm"},
		{[]string{"\xe2\x82"}, `\xe2\x82`},
	}
	for _, tt := range tests {
		var b bytes.Buffer
		v := &visible{to: &b}
		for _, p := range tt.pieces {
			if n, err := v.Write([]byte(p)); n != len(p) || err != nil {
				t.Errorf("%q: wrote %d, %v", p, n, err)
			}
		}
		v.flush()
		if got := b.String(); got != tt.want {
			t.Errorf("%q: got %q, want %q", tt.pieces, got, tt.want)
		}
	}
}

// TestNothingDrivesTheTerminal: names, cells, messages and files, on both streams.
func TestNothingDrivesTheTerminal(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "a.star")
	if err := os.WriteFile(file, []byte("print('\x1b[2Jprinted')\nfail('\x1b]0;title\x07')\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"eval", `print("\x1b[2J\r\x9b"); "\x1b[31m"`},
		{"eval", "--json", `print("\x1b[2J"); "\u202e"`},
		{"eval", `warn("\x1b[2J")`},
		{"eval", `fail("\x1b[2J")`},
		{"eval", file},
		{"eval", "\x1b[2J"},
		{"\x1b[2J"},
		{"report", "\x1b[2J.ipynb"},
		{"report", "--set", "\x1b[2J", "a.ipynb"},
		{"check", "\u202e.ipynb"},
		{"help", "\x1b[2J"},
	} {
		var out, err bytes.Buffer
		run(context.Background(), args, strings.NewReader(""), &out, &err)
		for _, b := range []*bytes.Buffer{&out, &err} {
			if strings.ContainsAny(b.String(), "\x1b\r\x07\x08\u009b\u202e") {
				t.Errorf("%q writes %q", args, b)
			}
		}
		if out.Len()+err.Len() == 0 {
			t.Errorf("%q writes nothing", args)
		}
	}
}
