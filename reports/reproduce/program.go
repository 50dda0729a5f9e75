package reproduce

import (
	"fmt"
	"regexp"
	"slices"
	"sync"

	"wedgework/reports/publish"
	"wedgework/reports/record"
)

var forms = sync.OnceValue(func() map[string]*regexp.Regexp {
	return map[string]*regexp.Regexp{
		"version": regexp.MustCompile(`^[0-9]{1,4}\.[0-9]{1,4}\.[0-9]{1,4}$`),
		"go":      regexp.MustCompile(`^go[0-9]{1,3}\.[0-9]{1,3}(\.[0-9]{1,3}|rc[0-9]{1,2}|beta[0-9]{1,2})?$`),
	}
})

// architectures are those that the toolchain makes programs for.
var architectures = []string{"386", "amd64", "arm", "arm64", "loong64", "mips", "mips64", "mips64le", "mipsle", "ppc64",
	"ppc64le", "riscv64", "s390x", "wasm"}

// checkProgram refuses what no version of this program calls itself: the report prints it, and it is not compared with
// anything.
func checkProgram(p record.Program) error {
	switch {
	case p.Name != "wedgework":
		return fmt.Errorf("program, name: found %.80q, expected %q", p.Name, "wedgework")
	case !forms()["version"].MatchString(p.Version):
		return fmt.Errorf("program, version: found %.80q, expected three numbers, as 1.2.3", p.Version)
	case !forms()["go"].MatchString(p.Go):
		return fmt.Errorf("program, go: found %.80q, expected a release of the toolchain, as go1.26.8", p.Go)
	case namesArchitecture(p.Version) && !slices.Contains(architectures, p.Architecture):
		return fmt.Errorf("program, architecture: found %.80q, expected one of %v", p.Architecture, architectures)
	case !namesArchitecture(p.Version) && p.Architecture != "":
		return fmt.Errorf("program, architecture: found %.80q, which version %s does not state", p.Architecture, p.Version)
	}
	return nil
}

// namesArchitecture reports whether a version states the architecture of its processor: all before 0.3.0 do, and none
// since, for their bytes do not depend on it.
func namesArchitecture(version string) bool {
	var major, minor int
	n, err := fmt.Sscanf(version, "%d.%d.", &major, &minor)
	return n == 2 && err == nil && major == 0 && minor < 3
}

// Tools are the tools that make the report again to be compared with the original: the program bears the name of the
// one that made it. Where that is another one, the executed notebook is the carried one, for then pictures in it may
// have moved, and its outputs are compared by themselves. What else the two differ in is a difference.
func (c *Carried) Tools(now publish.Tools) publish.Tools {
	if c.Record.Program != now.Program {
		now.Program, now.Executed = c.Record.Program, c.Executed
	}
	return now
}
