package lastcell

import (
	"runtime/debug"
	"sync/atomic"
	"syscall"
)

// Bounds on what the process may take: choices. A cell is stopped in good order when it makes the heap grow by
// half a gibibyte; what lies between is for what grows too fast to be seen.
const (
	mostData  = 4 << 30
	leastData = 1 << 30
)

var inForce atomic.Int64

// limit is the limit in force, 0 when there is none.
func limit() int64 { return inForce.Load() }

// LimitMemory sets a limit of the operating system on the memory of this process: 4 GiB, or three quarters of what
// the machine has when that is less. Past it the runtime ends the process, instead of the whole machine
// standing still. A lower limit that is in force already stays.
func LimitMemory() error {
	data := int64(mostData)
	var info syscall.Sysinfo_t
	if syscall.Sysinfo(&info) == nil {
		data = max(leastData, min(data, int64(uint64(info.Totalram)*uint64(info.Unit)/4*3)))
	}
	// The data segment and private mappings count; address space that is only reserved, of which the runtime
	// takes gibibytes, does not.
	var r syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_DATA, &r); err != nil {
		return err
	}
	if r.Cur > uint64(data) {
		r.Cur = uint64(data)
		if err := syscall.Setrlimit(syscall.RLIMIT_DATA, &r); err != nil {
			return err
		}
	}
	inForce.Store(int64(r.Cur))
	debug.SetMemoryLimit(int64(r.Cur) / 4 * 3) // collect harder before it comes to that
	return nil
}
