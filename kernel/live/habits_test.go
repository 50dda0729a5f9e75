package live

import (
	"regexp"
	"strings"
	"testing"
)

// codes are those of terminals.
var codes = regexp.MustCompile("\x1b\\[[0-9;]*m")

// A traceback is coloured, names what went wrong, and reads as before without the colours.
func TestColouredTraceback(t *testing.T) {
	connection, end := serve(t)
	defer end()
	f := connect(t, connection, "engineer")
	defer f.close()
	for code, want := range map[string]string{
		"1*nm + 1*deg":               "UnitError: cannot add 1 nm, a length, to 1 deg, an angle",
		"x = {'a': 1}\nx['b']":       `KeyError: key "b" not in dict`,
		"measured('s', default='s')": "FileError: ",
		"sweep(1*nm)":                "ArgumentError: ",
		"crystal(5)":                 "ArgumentError: ",
		"1550nm":                     "SyntaxError: ",
	} {
		about := f.run(t, code)
		name, _, _ := strings.Cut(want, ":")
		if got := field(t, about, "error", "ename"); got != name {
			t.Errorf("%s: the error is a %s, want %s", code, got, name)
		}
		text := field(t, about, "error", "traceback")
		var lines []string
		for _, r := range about {
			if r.Header.Type == "error" {
				var c struct {
					Lines []string `json:"traceback"`
				}
				if err := r.Read(&c); err != nil {
					t.Fatal(err)
				}
				lines = c.Lines
			}
		}
		whole := strings.Join(lines, "\n")
		if !codes.MatchString(whole) || strings.Count(whole, "\x1b[0m") != strings.Count(whole, "\x1b[3") {
			t.Errorf("%s: colours begin and do not end: %q", code, text)
		}
		if bare := codes.ReplaceAllString(whole, ""); !strings.Contains(bare, want) || !strings.Contains(bare, "line ") {
			t.Errorf("%s: without colours\n%s\nwant %q", code, bare, want)
		}
	}
}

// Expressions of a front end change nothing.
func TestUserExpressionsChangeNothing(t *testing.T) {
	connection, end := serve(t)
	defer end()
	f := connect(t, connection, "engineer")
	defer f.close()
	about, err := f.ask("execute_request", map[string]any{"code": "x = 1", "user_expressions": map[string]string{
		"a": "x = 2", "b": "x + 1"}})
	if err != nil {
		t.Fatal(err)
	}
	got := field(t, about, "execute_reply", "user_expressions")
	if !strings.Contains(got, `"ename":"SyntaxError"`) || !strings.Contains(got, `"text/plain":"2"`) {
		t.Errorf("got %s", got)
	}
	if got := field(t, f.run(t, "x, Out"), "execute_result", "data"); !strings.Contains(got, "(1, ") {
		t.Errorf("x is %s, want 1", got)
	}
}

// A caution stays where a cell clears what it has shown.
func TestCautionStays(t *testing.T) {
	connection, end := serve(t)
	defer end()
	f := connect(t, connection, "engineer")
	defer f.close()
	about := f.run(t, "warn('mind')\nprint('a')\nclear_output()\nprint('b')")
	if got := only(exchanged(t, about), "stream") + " " + only(exchanged(t, about), "clear"); got !=
		"stream stream stream stream clear_output" {
		t.Errorf("got %s, want the caution a second time", exchanged(t, about))
	}
}
