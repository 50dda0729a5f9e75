// Package reason words failures of the operating system for people.
package reason

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
)

// Plain strips the name of the system call from an error of package os: people know the file and the
// reason, not openat. A path relative to a root is left out as well, for it is not the one they wrote.
func Plain(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) && p.Path != "" && !strings.HasSuffix(p.Op, "at") {
		return fmt.Errorf("%s: %w", p.Path, p.Err)
	}
	return Bare(err)
}

// Bare is the reason alone, where the path has been named already.
func Bare(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	var l *os.LinkError
	if errors.As(err, &l) {
		return l.Err
	}
	return err
}
