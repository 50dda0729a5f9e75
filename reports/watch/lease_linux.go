package watch

import (
	"errors"
	"os"
	"syscall"
)

// Commands of fcntl (linux/fcntl.h) that package syscall has not.
const setLease, readLease, noLease = 1024, 0, 2

// beingWritten reports whether somebody has a file open to write it: the system then gives nobody a lease for reading.
// It gives none to who does not own the file either, nor on a network; there the time since the last change must do.
func beingWritten(path string) bool {
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return false
	}
	defer f.Close()
	_, _, failed := syscall.Syscall(syscall.SYS_FCNTL, f.Fd(), setLease, readLease)
	if failed == 0 {
		_, _, _ = syscall.Syscall(syscall.SYS_FCNTL, f.Fd(), setLease, noLease)
	}
	return errors.Is(failed, syscall.EAGAIN)
}
