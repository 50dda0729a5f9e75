package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// target is a file to be written: its full path and what it is to hold.
type target struct {
	path string
	data []byte
}

// Names that a replacement leaves beside a file while it is under way. They are fixed, so that the next
// run finds what a killed one left.
func fresh(path string) string  { return beside(path, "new") }
func former(path string) string { return beside(path, "old") }

func beside(path, what string) string {
	return filepath.Join(filepath.Dir(path), "."+filepath.Base(path)+".wedgework-"+what)
}

// replace writes all files of one folder or none. Each is written beside its place and brought to disk,
// what stood there before is kept under a second name, and only then are the new files renamed into
// place, the last one last: that rename is the commit point. When anything fails before it, what was
// replaced is put back. A run that is killed on the way is finished or undone by the next (settle).
func replace(files []target) (err error) {
	folder := filepath.Dir(files[0].path)
	unlock, err := lock(folder)
	if err != nil {
		return err
	}
	defer unlock()
	if err := settle(files); err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, settle(files))
		}
	}()
	for _, f := range files {
		if err := writeFresh(f); err != nil {
			return fmt.Errorf("%s: %w", f.path, bare(err))
		}
	}
	for _, f := range files {
		if err := keepFormer(f.path); err != nil {
			return fmt.Errorf("%s: %w", f.path, bare(err))
		}
	}
	for i, f := range files {
		if i == len(files)-1 { // the others are on disk under their names before the commit point
			if err := syncFolder(folder); err != nil {
				return fmt.Errorf("%s: %w", folder, bare(err))
			}
		}
		if err := os.Rename(fresh(f.path), f.path); err != nil {
			return fmt.Errorf("%s: %w", f.path, bare(err))
		}
	}
	// From here on the replacement is done, and an error would say that it is not. A former file that
	// cannot be removed is found by the next run.
	_ = settle(files)
	_ = syncFolder(folder)
	return nil
}

// settle brings the files into one state from wherever a replacement stopped. While the last file's fresh
// copy is there the commit point was not reached: of the others, one whose fresh copy is gone was
// renamed into place, because the last fresh copy is written last, and gets its former content back.
// Without it the replacement is complete, or never got far enough to touch a file.
func settle(files []target) error {
	last := files[len(files)-1].path
	if exists(fresh(last)) {
		for _, f := range files[:len(files)-1] {
			if exists(fresh(f.path)) {
				continue
			}
			if err := putBack(f.path); err != nil {
				return fmt.Errorf("%s cannot be put back: %w", f.path, bare(err))
			}
		}
	}
	for _, f := range files {
		for _, path := range []string{former(f.path), fresh(f.path)} {
			if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return plain(err) // the path is that of a file beside the report
			}
		}
	}
	return nil
}

func putBack(path string) error {
	if exists(former(path)) {
		return os.Rename(former(path), path)
	}
	err := os.Remove(path) // there was none before
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// writeFresh writes the new content beside its place, with the permissions of the file it replaces.
func writeFresh(f target) error {
	mode := fs.FileMode(0o666) // less the umask
	info, err := os.Lstat(f.path)
	switch {
	case err == nil && info.IsDir():
		return errors.New("found a folder of this name, expected a file or nothing")
	case err == nil && info.Mode().IsRegular():
		mode = info.Mode().Perm()
	}
	w, err := os.OpenFile(fresh(f.path), os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return err
	}
	_, err = w.Write(f.data)
	if err == nil {
		err = w.Sync()
	}
	return errors.Join(err, w.Close())
}

// keepFormer gives the file in place a second name, so that renaming over the first one loses nothing. On
// a file system without hard links it is copied.
func keepFormer(path string) error {
	if !exists(path) {
		return nil
	}
	if os.Link(path, former(path)) == nil {
		return nil
	}
	r, err := os.Open(path)
	if err != nil {
		return err
	}
	defer r.Close()
	data, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	return os.WriteFile(former(path), data, 0o600)
}
