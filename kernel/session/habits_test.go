package session

import (
	"strings"
	"testing"

	"go.starlark.net/starlark"
)

// TestHabits writes as people do who come from other languages or paste from a text editor: each line of theirs is
// refused with a line that says what to write.
func TestHabits(t *testing.T) {
	config := Config{Words: starlark.StringDict{"nm": starlark.Float(1e-9), "deg": starlark.Float(1)},
		Spellings: map[string]string{"°": "deg", "degrees": "deg", "np": "functions stand by themselves"}}
	for src, want := range map[string]string{
		"x = 1550nm":                        "write 1550*nm",
		"x = 1.5e3 nm":                      "write 1.5e3*nm",
		"f(5 deg)":                          "write 5*deg",
		"a = 45°":                           "write 45*deg",
		"t = “a”":                           "straight quotes",
		"y = 5 − 3":                         "hyphen",
		"y = 5 × 3":                         "multiplication is *",
		"try:\n  x = 1\nexcept:\n  x = 2":   "nothing catches one",
		"class A:\n  pass":                  "returns a dict",
		"with open('x') as f:\n  pass":      "measured() reads",
		"assert 1 == 1":                     "fail(",
		"x: int = 3":                        "no types: write x = 3",
		"def f(a: int):\n  return a":        "no types: write def",
		"def f(a) -> int:\n  return a":      "no types: write def",
		"%timeit 1":                         "commands that begin with %",
		"!ls":                               "no other program",
		"?wedge":                            "wedge? or help(wedge)",
		"help extinction ratio":             `help("extinction ratio")`,
		"s = {1, 2}":                        "set([1, 2])",
		"n = 1_000":                         "without _",
		"x := 3":                            "line of its own",
		"1 && 2":                            "write and",
		"1 || 2":                            "write or",
		"not !1":                            "write not",
		"x++":                               "x += 1",
		"print 'a'":                         "print(x)",
		"x = 3 if 1":                        "else b",
		"@f\ndef g(): pass":                 "f = wrapper(f)",
		"2 * degrees":                       "",
		"np.sin(1)":                         "stand by themselves",
		"x = 'don’t # 5 nm' 3":              "",
		"x = [1, 2":                         "",
		"if 1 > 0\n  x = 1":                 "",
		"d = {'a': 1, 'b' 2}":               "",
		"y = 5 + # 3 − 4 and 5nm in words":  "",
		"x = f(1)) # {1, 2} and a ± 2 as b": "",
	} {
		s, err := New(config)
		if err != nil {
			t.Fatal(err)
		}
		e := mustFail(t, s, src)
		if want == "" && e.Hint != "" || !strings.Contains(e.Hint, want) {
			t.Errorf("%q: hint %q, want %q (%s)", src, e.Hint, want, e.Message)
		}
		if strings.Contains(e.Hint, "\n") {
			t.Errorf("%q: the hint has more than one line: %q", src, e.Hint)
		}
	}
}
