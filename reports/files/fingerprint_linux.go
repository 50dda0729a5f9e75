package files

import (
	"io/fs"
	"slices"
	"syscall"
)

func changedAndInode(info fs.FileInfo) (changed int64, inode uint64) {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return s.Ctim.Nano(), s.Ino
	}
	return 0, 0
}

// steadyKinds are the file systems of disks and of memory whose inodes stay and whose times come from the kernel's
// clock: ext2 to ext4, xfs, btrfs, f2fs, ZFS, tmpfs, and overlayfs, where an inode that is copied up becomes another,
// which only costs a look at the content. Numbers: linux/magic.h; f2fs and ZFS from the heads of their sources.
var steadyKinds = []uint32{0xef53, 0x58465342, 0x9123683e, 0xf2f52010, 0x2fc12fc1, 0x01021994, 0x794c7630}

func (l *Looker) look(path string) (Fingerprint, bool, error) {
	var s syscall.Stat_t // not os.Stat, which allocates for each of a million files
	err := syscall.Stat(path, &s)
	for err == syscall.EINTR {
		err = syscall.Stat(path, &s)
	}
	if err != nil {
		return Fingerprint{}, false, &fs.PathError{Op: "stat", Path: path, Err: err}
	}
	if s.Mode&syscall.S_IFMT != syscall.S_IFREG {
		return Fingerprint{}, false, &fs.PathError{Op: "stat", Path: path, Err: fs.ErrInvalid}
	}
	f := Fingerprint{Size: s.Size, Modified: s.Mtim.Nano(), Changed: s.Ctim.Nano(), Inode: s.Ino}
	if known, ok := l.steady.Load(s.Dev); ok {
		return f, known.(bool), nil
	}
	var on syscall.Statfs_t
	steady := syscall.Statfs(path, &on) == nil && slices.Contains(steadyKinds, uint32(on.Type))
	l.steady.Store(s.Dev, steady)
	return f, steady, nil
}
