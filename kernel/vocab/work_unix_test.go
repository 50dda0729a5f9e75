//go:build unix

package vocab

import (
	"syscall"
	"time"
)

// worked is the time of processors that this process has taken.
func worked() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
