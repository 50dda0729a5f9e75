//go:build unix

package fileset

import (
	"errors"
	"fmt"
	"os"
	"syscall"

	"wedgework/reports/reason"
)

// lock keeps two runs from replacing files in one folder at the same time; it waits for the other to
// finish, which takes milliseconds. The lock ends with the process, however it ends. File systems that do
// not lock folders (some network ones) are used without.
func lock(folder string) (unlock func(), err error) {
	if err := fails("lock", folder); err != nil {
		return nil, fmt.Errorf("the folder of the report: %w", reason.Plain(err))
	}
	f, err := os.Open(folder)
	if err != nil {
		return nil, fmt.Errorf("the folder of the report: %w", reason.Plain(err))
	}
	for {
		err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX)
		if err != syscall.EINTR {
			break
		}
	}
	without := errors.Is(err, syscall.EBADF) || errors.Is(err, syscall.ENOLCK) || errors.Is(err, errors.ErrUnsupported)
	if err != nil && !without {
		f.Close()
		return nil, fmt.Errorf("%s cannot be locked: %w", folder, err)
	}
	return func() { f.Close() }, nil
}

// syncFolder brings the names of a folder to disk.
func syncFolder(folder string) error {
	if err := fails("fsync", folder); err != nil {
		return err
	}
	f, err := os.Open(folder)
	if err != nil {
		return err
	}
	err = f.Sync()
	if errors.Is(err, syscall.EINVAL) { // a file system that has nothing to sync there
		err = nil
	}
	return errors.Join(err, f.Close())
}
