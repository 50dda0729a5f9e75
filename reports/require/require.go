// Package require finds the outside programs that some tests check our files with. A machine without one
// skips the test and says why; where WEDGEWORK_REQUIRE_ALL=1 is set, as on the machine that accepts
// changes, a missing program fails it, so that no check is left out unseen.
package require

import (
	"os"
	"os/exec"
	"testing"
)

// Tool returns the path of a program, or ends the test.
func Tool(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		Missing(t, "the program "+name+" is not installed")
	}
	return path
}

// Missing ends the test because of something that the machine lacks: as skipped, or as failed where
// everything is required.
func Missing(t testing.TB, what string) {
	t.Helper()
	if All() {
		t.Fatalf("%s, and WEDGEWORK_REQUIRE_ALL=1 asks for every check", what)
	}
	t.Skip(what)
}

// Sample returns how many cases a test tries of those that it draws: few of them, so that all tests of the project
// together take no more than minutes, or all where everything is required. Tolerances must follow from the count.
func Sample(few, all int) int {
	if All() {
		return all
	}
	return few
}

// Thorough leaves a test that takes many seconds to where everything is required, and says why; what it holds is held
// there before any change is accepted.
func Thorough(t testing.TB, what string) {
	t.Helper()
	if !All() {
		t.Skip(what + ": WEDGEWORK_REQUIRE_ALL=1 asks for it")
	}
}

// All reports whether a check that cannot be made is a failure.
func All() bool { return os.Getenv("WEDGEWORK_REQUIRE_ALL") == "1" }
