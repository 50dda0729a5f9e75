package watch

import (
	"os"
	"time"
)

// snapshot is how files stood at one time, by their paths.
type snapshot map[string]standing

type standing struct {
	size     int64
	modified time.Time
}

// look takes a snapshot. A file that is not there is none of it.
func look(paths []string) snapshot {
	s := make(snapshot, len(paths))
	for _, p := range paths {
		if info, err := os.Stat(p); err == nil {
			s[p] = standing{info.Size(), info.ModTime()}
		}
	}
	return s
}

// written reports whether a file that is another than before is open to be written, as far as the system tells.
func (s snapshot) written(before snapshot) bool {
	for path, now := range s {
		if before[path] != now && beingWritten(path) {
			return true
		}
	}
	return false
}
