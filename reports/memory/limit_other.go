//go:build !linux

package memory

import "runtime/debug"

func standard() uint64 { return mostData }

func mapped() uint64 { return 0 }

// limit asks the collector to keep below so many bytes. This system offers nothing that ends a process which needs
// more.
func limit(bytes uint64, raise bool) error {
	if !raise && inForce.Load() > 0 {
		bytes = min(bytes, inForce.Load())
	}
	soft := given
	if bytes > 0 {
		soft = min(soft, share(bytes))
	}
	debug.SetMemoryLimit(soft)
	inForce.Store(bytes)
	return nil
}
