package files

import (
	"io/fs"
	"sync"
)

// Fingerprint is what tells, without its content, that a file has not been written since it was looked at. Times are
// Unix times in nanoseconds. Nobody can set Changed, the time of the last change of content, name or rights; it and the
// Inode are 0 where the system has none.
type Fingerprint struct {
	Size     int64  `json:"size"`
	Modified int64  `json:"modified"`
	Changed  int64  `json:"changed,omitempty"`
	Inode    uint64 `json:"inode,omitempty"`
}

// Latest is the later of both times.
func (f Fingerprint) Latest() int64 { return max(f.Modified, f.Changed) }

// FingerprintOf takes the fingerprint from what the system says of a file.
func FingerprintOf(info fs.FileInfo) Fingerprint {
	f := Fingerprint{Size: info.Size(), Modified: info.ModTime().UnixNano()}
	f.Changed, f.Inode = changedAndInode(info)
	return f
}

// Looker takes fingerprints of many files. The zero Looker is ready; several goroutines may share one.
type Looker struct{ steady sync.Map } // of devices: whether fingerprints on them can be relied on

// Look takes the fingerprint of a regular file, to which links are followed. Sure is whether the file system keeps
// inodes, and times by the clock of this machine: one on a disk of this machine does, one of a network or of unknown
// kind may not, and there only the content tells.
func (l *Looker) Look(path string) (f Fingerprint, sure bool, err error) { return l.look(path) }
