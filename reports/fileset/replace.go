// Package fileset writes the files that belong together, all or none: a report's notebook, record, signature and
// PDF. A run that is killed on the way, by whatever, is finished or undone by the next.
//
// How. Under a lock on the folder, a journal that names the files and the hashes of their new contents goes to disk
// first. Each new content is then written beside its place and brought to disk, what stands in its place gets a second
// name, and only then are the new files renamed into place, the last one last: that rename is the commit point. When
// anything fails before it, what was replaced is put back. The journal goes last. Whoever finds a journal knows by
// the hashes how far its writer came (settle). A file is never written in place, so each one is whole at every
// moment; a set that another program has mixed is told by the hashes of what the PDF carries (package reproduce).
package fileset

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"wedgework/reports/reason"
)

// File is a file to be written: its full path and what it is to hold. Without content (nil Data) the file is removed
// with the rest of the set, as a signature whose report is replaced.
type File struct {
	Path string
	Data []byte
}

// Replace writes all files of one folder or none; the last one is the commit point and must have content. On
// success they are on disk under their names. On an error the files that were there are there.
func Replace(files []File) error { return replace(files, func() error { return nil }) }

// replace does something first, when nobody else can be at work in the folder.
func replace(files []File, first func() error) error {
	last := files[len(files)-1]
	folder := filepath.Dir(last.Path)
	for _, f := range files {
		if filepath.Dir(f.Path) != folder || last.Data == nil {
			return fmt.Errorf("%s: not a set of one folder that ends in a file", f.Path)
		}
	}
	unlock, err := lock(folder)
	if err != nil {
		return err
	}
	defer unlock()
	if err := settle(last.Path); err != nil {
		return err
	}
	if err := first(); err != nil {
		return err
	}
	j := newJournal(files)
	if err := j.write(last.Path); err != nil {
		_ = remove(journalOf(last.Path))
		return fmt.Errorf("%s: %w", last.Path, reason.Bare(err))
	}
	if err := place(files, folder); err != nil {
		return errors.Join(err, settle(last.Path))
	}
	// From here on the replacement is done, and an error would say that it is not. What cannot be removed is
	// found by the next run.
	_ = settle(last.Path)
	return nil
}

// Locked does something in a folder when nobody else replaces files there.
func Locked(folder string, do func() error) error {
	unlock, err := lock(folder)
	if err != nil {
		return err
	}
	defer unlock()
	return do()
}

// place brings the new contents to disk and under their names.
func place(files []File, folder string) error {
	failed := func(f File, err error) error { return fmt.Errorf("%s: %w", f.Path, reason.Bare(err)) }
	for _, f := range files {
		if err := writeFresh(f); err != nil {
			return failed(f, err)
		}
	}
	for _, f := range files {
		if err := keepFormer(f.Path); err != nil {
			return failed(f, err)
		}
	}
	for i, f := range files {
		if i == len(files)-1 { // the others are on disk under their names before the commit point
			if err := syncFolder(folder); err != nil {
				return fmt.Errorf("%s: %w", folder, reason.Bare(err))
			}
		}
		var err error
		if f.Data == nil {
			err = removeAny(f.Path)
		} else {
			err = Rename(fresh(f.Path), f.Path)
		}
		if err != nil {
			return failed(f, err)
		}
	}
	_ = syncFolder(folder) // the commit point is passed
	return nil
}

// Names that a replacement leaves beside a file while it is under way. They are fixed, so that the next
// run finds what a killed one left.
func fresh(path string) string     { return beside(path, "new") }
func former(path string) string    { return beside(path, "old") }
func journalOf(path string) string { return beside(path, "journal") }

const mark = ".wedgework-"

func beside(path, what string) string {
	return filepath.Join(filepath.Dir(path), "."+filepath.Base(path)+mark+what)
}

// writeFresh writes the new content beside its place, with the permissions of the file it replaces.
func writeFresh(f File) error {
	mode := fs.FileMode(0o666) // less the umask
	info, err := os.Lstat(f.Path)
	switch {
	case err == nil && info.IsDir():
		return errors.New("found a folder of this name, expected a file or nothing")
	case f.Data == nil:
		return nil
	case err == nil && info.Mode().IsRegular():
		mode = info.Mode().Perm()
	}
	return writeSynced(fresh(f.Path), f.Data, mode)
}

// writeSynced makes a file that was not there and brings it to disk.
func writeSynced(path string, data []byte, mode fs.FileMode) error {
	w, err := Open(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return err
	}
	_, err = w.Write(data)
	if err == nil {
		err = w.Sync()
	}
	return errors.Join(err, w.Close())
}

// keepFormer gives the file in place a second name, so that renaming over the first one loses nothing. On
// a file system without hard links it is copied.
func keepFormer(path string) error {
	info, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil || link(path, former(path)) == nil {
		return err
	}
	data, err := Read(path)
	if err != nil {
		return err
	}
	return writeSynced(former(path), data, info.Mode().Perm())
}

// removeAny removes a file that may not be there.
func removeAny(path string) error {
	if err := remove(path); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}
