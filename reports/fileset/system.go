package fileset

import (
	"errors"
	"io/fs"
	"os"
	"sync/atomic"

	"wedgework/reports/files"
)

// Fault decides whether a call of the operating system is to fail: open, write, fsync, close, link, rename, remove,
// mkdir, lock or read, and the path that it is about. Nil lets the call through.
type Fault func(call, path string) error

var fault atomic.Pointer[Fault]

// Inject makes calls fail, for tests; the returned function ends that. Every call by which this package and the ledger
// of package regenerate touch the disk asks first.
func Inject(f Fault) (end func()) {
	before := fault.Swap(&f)
	return func() { fault.Store(before) }
}

func fails(call, path string) error {
	f := fault.Load()
	if f == nil {
		return nil
	}
	if err := (*f)(call, path); err != nil {
		return &fs.PathError{Op: call, Path: path, Err: err}
	}
	return nil
}

// Handle is an open file whose calls can be made to fail.
type Handle struct{ file *os.File }

// Open is os.OpenFile.
func Open(path string, flag int, mode fs.FileMode) (*Handle, error) {
	if err := fails("open", path); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, flag, mode)
	if err != nil {
		return nil, err
	}
	return &Handle{f}, nil
}

// Write writes all of p. A write that is made to fail writes half of it, as a full disk does.
func (h *Handle) Write(p []byte) (int, error) {
	if err := fails("write", h.file.Name()); err != nil {
		n, _ := h.file.Write(p[:len(p)/2])
		return n, err
	}
	return h.file.Write(p)
}

// Sync brings the file to disk.
func (h *Handle) Sync() error {
	if err := fails("fsync", h.file.Name()); err != nil {
		return err
	}
	return h.file.Sync()
}

// Close closes the file, also where that is made to fail.
func (h *Handle) Close() error { return errors.Join(fails("close", h.file.Name()), h.file.Close()) }

// Rename is os.Rename.
func Rename(from, to string) error {
	if err := fails("rename", to); err != nil {
		return err
	}
	return os.Rename(from, to)
}

func link(from, to string) error {
	if err := fails("link", to); err != nil {
		return err
	}
	return os.Link(from, to)
}

func remove(path string) error {
	if err := fails("remove", path); err != nil {
		return err
	}
	return os.Remove(path)
}

func mkdir(path string) error {
	if err := fails("mkdir", path); err != nil {
		return err
	}
	return os.Mkdir(path, 0o777)
}

// Read is files.Read.
func Read(path string) ([]byte, error) {
	if err := fails("read", path); err != nil {
		return nil, err
	}
	return files.Read(path)
}
