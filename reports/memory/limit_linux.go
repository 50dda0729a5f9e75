package memory

import (
	"fmt"
	"os"
	"runtime/debug"
	"syscall"
)

// dataLimit is RLIMIT_DATA, which on Linux counts every private writable mapping; RLIMIT_AS would count what Go's
// runtime only reserves.
const dataLimit = syscall.RLIMIT_DATA

func standard() uint64 {
	var info syscall.Sysinfo_t
	if syscall.Sysinfo(&info) != nil {
		return mostData
	}
	return max(leastData, min(mostData, uint64(info.Totalram)*uint64(info.Unit)/4*3))
}

// mapped is what the system counts against the limit: the pages that proc(5) calls data of statm; 0 when it does not
// tell.
func mapped() uint64 {
	text, err := os.ReadFile("/proc/self/statm")
	if err != nil {
		return 0
	}
	var pages [6]uint64
	if _, err := fmt.Sscan(string(text), &pages[0], &pages[1], &pages[2], &pages[3], &pages[4], &pages[5]); err != nil {
		return 0
	}
	return pages[5] * uint64(os.Getpagesize())
}

func limit(bytes uint64, raise bool) error {
	var r syscall.Rlimit
	if err := syscall.Getrlimit(dataLimit, &r); err != nil {
		return fmt.Errorf("the limit of memory: %w", err)
	}
	to := r.Max
	switch {
	case bytes > 0 && raise:
		to = min(bytes, r.Max)
	case bytes > 0:
		to = min(bytes, r.Cur)
	}
	soft := given
	if bytes > 0 {
		soft = min(soft, share(to))
	}
	debug.SetMemoryLimit(soft)
	if bytes > 0 {
		inForce.Store(to)
	} else {
		inForce.Store(0)
	}
	if to == r.Cur {
		return nil
	}
	r.Cur = to
	if err := syscall.Setrlimit(dataLimit, &r); err != nil {
		return fmt.Errorf("the limit of memory: %w", err)
	}
	return nil
}
