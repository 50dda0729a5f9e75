//go:build !linux

package lastcell

func limit() int64 { return 0 }

// LimitMemory does nothing on this system, which has no limit that the runtime would run into in good order.
func LimitMemory() error { return nil }
