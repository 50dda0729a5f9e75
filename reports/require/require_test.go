package require

import (
	"fmt"
	"testing"
)

// fake records how a test would have ended.
type fake struct {
	testing.TB
	ended string
}

func (f *fake) Helper()          {}
func (f *fake) Skip(args ...any) { f.ended = "skipped: " + fmt.Sprint(args...); panic(f) }
func (f *fake) Fatalf(format string, a ...any) {
	f.ended = "failed: " + fmt.Sprintf(format, a...)
	panic(f)
}

func TestMissing(t *testing.T) {
	tests := []struct{ name, env, want string }{
		{"skips", "", "skipped: the program no-such-program is not installed"},
		{"skips unless 1", "0", "skipped: the program no-such-program is not installed"},
		{"fails when all is required", "1", "failed: the program no-such-program is not installed, and " +
			"WEDGEWORK_REQUIRE_ALL=1 asks for every check"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Setenv("WEDGEWORK_REQUIRE_ALL", tt.env)
			f := &fake{TB: t}
			func() {
				defer func() {
					if r := recover(); r != nil && r != any(f) {
						panic(r)
					}
				}()
				Tool(f, "no-such-program")
			}()
			if f.ended != tt.want {
				t.Errorf("Tool ended %q, want %q", f.ended, tt.want)
			}
		})
	}
}
