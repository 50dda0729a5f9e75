package transport

import (
	"fmt"
	"os"
	"runtime"
	"syscall"
	"time"
)

// account answers what a server is asked about its process.
func account(line string) (string, error) {
	var n int
	switch {
	case line == "processor":
		var u syscall.Rusage
		if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
			return "", err
		}
		return fmt.Sprint(time.Duration(u.Utime.Nano() + u.Stime.Nano())), nil
	case line == "holdings":
		fds, err := os.ReadDir("/proc/self/fd")
		if err != nil {
			return "", err
		}
		return fmt.Sprintf("%d goroutines, %d descriptors", runtime.NumGoroutine(), len(fds)), nil
	case scan(line, "descriptors %d", &n):
		var l syscall.Rlimit
		if err := syscall.Getrlimit(syscall.RLIMIT_NOFILE, &l); err != nil {
			return "", err
		}
		l.Cur = uint64(n)
		return "done", syscall.Setrlimit(syscall.RLIMIT_NOFILE, &l)
	}
	return "", fmt.Errorf("a server knows nothing about %q", line)
}
