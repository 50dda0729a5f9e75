//go:build unix

package wire

import (
	"io/fs"
	"os"
	"syscall"
)

// private reports whether a folder is its user's alone: nobody else may look into it.
func private(folder string) bool {
	info, err := os.Stat(folder)
	if err != nil || info.Mode().Perm()&0o077 != 0 || info.Mode()&fs.ModeDir == 0 {
		return false
	}
	owner, ok := info.Sys().(*syscall.Stat_t)
	return ok && int(owner.Uid) == os.Getuid()
}
