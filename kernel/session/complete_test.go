package session

import "testing"

func TestIsComplete(t *testing.T) {
	tests := []struct {
		src    string
		want   Completeness
		indent string
	}{
		{"", Complete, ""},
		{"\n\n", Complete, ""},
		{"1 + 1", Complete, ""},
		{"x = 2**3\n", Complete, ""},
		{"# only a comment", Complete, ""},
		{"print('a')\nprint('b')", Complete, ""},
		{"def f(x): return x", Complete, ""},
		{"def f(x):", Incomplete, "    "},
		{"def f(x): # a comment:", Incomplete, "    "},
		{"def f(x):\n    y = x", Incomplete, "    "},
		{"def f(x):\n    y = x\n", Incomplete, "    "},
		{"def f(x):\n    y = x\n\n", Complete, ""},
		{"def f(x):\n    y = x\n    ", Complete, ""},
		{"def f(x):\n  if x:", Incomplete, "      "},
		{"if x:\n  1\nelse:", Incomplete, "    "},
		{"for i in x:\n  print(i)\n1", Complete, ""},
		{"f(1,", Incomplete, ""},
		{"f(1,\n  2,", Incomplete, "  "},
		{"x = [1,\n# a comment\n", Incomplete, ""},
		{"x = '''abc", Incomplete, ""},
		{"x = '''abc\ndef'''", Complete, ""},
		{"x = 1 + \\", Incomplete, ""},
		{"x = 1 # 2 \\", Complete, ""},
		{"x = 'a \\", Incomplete, ""},
		{"if x == '#':", Incomplete, "    "},
		{"if x == ':#", Invalid, ""},
		{"x = 'abc", Invalid, ""},
		{"x = = 1", Invalid, ""},
		{"x +", Invalid, ""},
		{"f(1))", Invalid, ""},
		{"import numpy", Invalid, ""},
		{"  x\n y", Invalid, ""},
		{"nothing_defines_this", Complete, ""},
	}
	for _, tt := range tests {
		got, indent := IsComplete(tt.src)
		if got != tt.want || indent != tt.indent {
			t.Errorf("IsComplete(%q): got %s, %q, want %s, %q", tt.src, got, indent, tt.want, tt.indent)
		}
	}
}
