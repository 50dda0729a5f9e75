// Package memory holds a process to a limit of memory: the operating system ends a process that goes beyond it, instead
// of the whole machine standing still, and before it comes to that the collector works harder and the process is told.
package memory

import (
	"fmt"
	"math"
	"runtime/debug"
	"runtime/metrics"
	"strings"
	"sync/atomic"
	"time"

	"github.com/dustin/go-humanize"
)

// Bounds of the standard limit: choices. A cell is stopped in good order when it makes the heap grow by half a
// gibibyte; what lies between is for what grows too fast to be seen.
const (
	mostData  = 4 << 30
	leastData = 1 << 30
)

// given is the limit that the collector was started with, GOMEMLIMIT's: no other lifts it.
var given = debug.SetMemoryLimit(-1)

var inForce atomic.Uint64

// InForce is the limit in force, in bytes; 0 for none.
func InForce() uint64 { return inForce.Load() }

// Standard limits the process to 4 GiB, or to three quarters of what the machine has when that is less. A lower limit
// that is in force already stays.
func Standard() error { return limit(standard(), false) }

// Limit limits the process to so many bytes of data; 0 leaves it the limit that it was given. A limit set before is
// replaced.
func Limit(bytes uint64) error { return limit(bytes, true) }

// share is the part of a limit from which the collector works harder.
func share(bytes uint64) int64 { return int64(min(bytes/5*4, math.MaxInt64)) }

// Text words so many bytes.
func Text(bytes uint64) string { return humanize.Bytes(bytes) }

// Ended reports whether what the runtime wrote when it gave up says that there was no more memory. The last is the
// runtime's own fault, not a Go one: under a limit it is the collector that got no memory and did not look.
func Ended(text string, limited bool) bool {
	for _, words := range []string{"cannot allocate memory", "out of memory", "pthread_create failed"} {
		if strings.Contains(text, words) {
			return true
		}
	}
	return limited && strings.HasPrefix(text, "SIGSEGV: segmentation violation\nPC=")
}

// Watch calls beyond, once, when the process comes close to the limit in force, until the returned function is called.
// What is allocated at one stroke it does not see.
func Watch(beyond func(limit uint64)) (stop func()) {
	most := InForce()
	if most == 0 {
		return func() {}
	}
	done := make(chan struct{})
	go func() {
		close := most - min(most/8, reserve)
		t := time.NewTimer(watchEvery)
		defer t.Stop()
		for {
			select {
			case <-done:
				return
			case <-t.C:
			}
			now := held()
			if now > close {
				beyond(most)
				return
			}
			t.Reset(pause(close - now))
		}
	}()
	return func() { close(done) }
}

// A watch looks often enough for what grows at a gigabyte a second to be seen within the reserve: choices.
const (
	watchEvery = 10 * time.Millisecond
	watchMost  = 100 * time.Millisecond
	reserve    = 64 << 20
)

// pause is how long a watch that has so many bytes to go may look away: half the time that they take at a gigabyte a
// second, which is a byte a nanosecond. A look costs 0.15 ms: every 10 ms it would be a fortieth of a report.
func pause(room uint64) time.Duration {
	return max(watchEvery, min(watchMost, time.Duration(min(room, math.MaxInt64)/2)))
}

// held is the memory that counts against the limit, less what the runtime has there for the next allocations.
func held() uint64 {
	samples := []metrics.Sample{
		{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"},
		{Name: "/memory/classes/heap/free:bytes"},
	}
	metrics.Read(samples)
	all, spare := samples[0].Value.Uint64(), samples[1].Value.Uint64()+samples[2].Value.Uint64()
	if counted := mapped(); counted > 0 { // with the stacks of threads that the runtime did not make
		all = counted
	}
	return all - min(all, spare)
}

// Least is what a process needs that makes one report of the demonstration, with what Go's runtime takes for itself:
// between 201 MB, where it is not always enough, and 218 MB, where it is. Below some 120 MB the runtime does not start.
const Least = 230_000_000

// Enough refuses a limit in force below Least, under which the process would end in the middle of its work, and not by
// its own word.
func Enough() error {
	if in := InForce(); in > 0 && in < Least {
		return fmt.Errorf("found a limit of memory of %s (ulimit -d), expected at least %s", Text(in), Text(Least))
	}
	return nil
}

// Exceeded is what a process says that has come to its limit.
func Exceeded(limit uint64) error {
	return fmt.Errorf("stopped: this takes more memory than the limit of %s", Text(limit))
}
