//go:build !linux

package regenerate

import (
	"runtime/debug"

	"github.com/dustin/go-humanize"
)

// limitMemory asks the collector to keep below so many bytes. This system offers nothing that ends a process which
// needs more.
func limitMemory(bytes uint64) error {
	soft := given
	if bytes > 0 {
		soft = min(soft, int64(bytes))
	}
	debug.SetMemoryLimit(soft)
	return nil
}

func bytesText(n uint64) string { return humanize.Bytes(n) }
