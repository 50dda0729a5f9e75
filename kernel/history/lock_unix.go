//go:build unix

package history

import (
	"errors"
	"os"
	"syscall"
)

// lock waits until no other process holds a lock on the file. File systems that cannot lock are used without:
// short lines that are appended in one piece rarely mix.
func lock(f *os.File) error {
	for {
		err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX)
		switch {
		case err == syscall.EINTR:
			continue
		case errors.Is(err, syscall.ENOLCK), errors.Is(err, errors.ErrUnsupported):
			return nil
		}
		return err
	}
}
