package regenerate

import (
	"fmt"
	"runtime/debug"
	"syscall"

	"github.com/dustin/go-humanize"
)

// limitMemory holds the process to so many bytes of data: the collector works harder from four fifths of it on, and the
// system ends a process that goes beyond. Zero leaves the limit that the process was given.
func limitMemory(bytes uint64) error {
	var now syscall.Rlimit
	if err := syscall.Getrlimit(rlimitData, &now); err != nil {
		return fmt.Errorf("the limit of memory: %w", err)
	}
	limit := syscall.Rlimit{Cur: now.Max, Max: now.Max}
	soft := given
	if bytes > 0 {
		limit.Cur = min(bytes, now.Max)
		soft = min(soft, int64(bytes/5*4))
	}
	debug.SetMemoryLimit(soft)
	if err := syscall.Setrlimit(rlimitData, &limit); err != nil {
		return fmt.Errorf("the limit of memory: %w", err)
	}
	return nil
}

// rlimitData is RLIMIT_DATA, which on Linux counts every private writable mapping; RLIMIT_AS would count what Go's
// runtime only reserves.
const rlimitData = syscall.RLIMIT_DATA

func bytesText(n uint64) string { return humanize.Bytes(n) }
