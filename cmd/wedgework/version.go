package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"wedgework/reports/record"
)

// release is the version of this program. Raise it with every change that may change a printed figure.
const release = "0.4.0"

// program identifies what makes a report. The version control stamp is left out: it differs between a
// program that was built and one that was run from source, and their reports must not.
func program() record.Program {
	return record.Program{Name: "wedgework", Version: release, Go: runtime.Version()}
}

func (a *app) versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "print the version of the program and of the toolchain it was built with",
		Args:  exactly(0, "no argument"),
		RunE: func(*cobra.Command, []string) error {
			p := program()
			_, err := fmt.Fprintf(a.out, "%s %s\nbuilt with %s for %s/%s\n", p.Name, p.Version, p.Go, runtime.GOOS,
				runtime.GOARCH)
			if err == nil && revision() != "" {
				_, err = fmt.Fprintf(a.out, "revision %s\n", revision())
			}
			return err
		},
	}
}

// revision returns the revision the program was built from, "" when the build was not stamped.
func revision() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	rev, changed := "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			rev = s.Value
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = ", with changes"
		}
	}
	if rev == "" {
		return ""
	}
	return rev + changed
}
