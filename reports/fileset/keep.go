package fileset

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"wedgework/reports/files"
	"wedgework/reports/reason"
)

// SupersededFolder, beside reports, takes the sets of files of those that others took the place of: signed ones, and
// ones that were changed after they were written.
const SupersededFolder = "superseded"

// Keep says which files are to be kept, elsewhere, when they are replaced.
type Keep struct {
	Folder string   // takes them under their names; numbered when it holds others
	Paths  []string // of one folder
}

// ReplaceKeeping is Replace, and keeps files first. Seen holds the hashes of files as they were when the new ones were
// made, "" for one that was not there: when one of them is another by now, nothing is done. It returns the folder that
// holds what was kept, "" for nothing to keep.
func ReplaceKeeping(set []File, k Keep, seen map[string]string) (kept string, err error) {
	var added []string
	err = replace(set, func() (err error) {
		if err := unchanged(seen); err != nil {
			return err
		}
		kept, added, err = k.keep()
		return err
	})
	if err != nil { // what is to be replaced stands in its place still
		for _, path := range added {
			_ = remove(path)
		}
		kept = ""
	}
	return kept, err
}

func unchanged(seen map[string]string) error {
	for path, was := range seen {
		is, err := files.Hash(path)
		if errors.Is(err, fs.ErrNotExist) {
			is, err = "", nil
		}
		if err != nil {
			return err
		}
		if is != was {
			return fmt.Errorf("%s changed while its report was being made, and nothing was replaced; run again", path)
		}
	}
	return nil
}

// keep gives every file a second name in a folder of its own, or copies it there. What a run that was cut short has
// kept already is taken as it is.
func (k Keep) keep() (into string, added []string, err error) {
	if len(k.Paths) == 0 {
		return "", nil, nil
	}
	above, err := needFolder(filepath.Dir(k.Folder))
	if err != nil {
		return "", nil, err
	}
	for n := 1; ; n++ {
		into = k.Folder
		if n > 1 {
			into = fmt.Sprintf("%s-%d", k.Folder, n)
		}
		free, err := k.fits(into)
		if err != nil {
			return "", nil, err
		}
		if free {
			added, err = k.fill(into)
			if above {
				added = append(added, filepath.Dir(k.Folder))
			}
			return into, added, err
		}
	}
}

// needFolder makes a folder that is not there. A link is not followed: it may lead anywhere.
func needFolder(path string) (made bool, err error) {
	info, err := os.Lstat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err := mkdir(path); err != nil {
			return false, reason.Plain(err)
		}
		return true, nil
	case err != nil:
		return false, reason.Plain(err)
	case !info.IsDir():
		return false, fmt.Errorf("%s: found something other than a folder, expected the folder of superseded "+
			"reports", path)
	}
	return false, nil
}

// fits reports whether a folder holds no other files under the names of those to be kept.
func (k Keep) fits(into string) (bool, error) {
	for _, path := range k.Paths {
		there, err := files.Hash(filepath.Join(into, filepath.Base(path)))
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return false, nil // something else of that name
		}
		ours, err := files.Hash(path)
		if err != nil {
			return false, err
		}
		if there != ours {
			return false, nil
		}
	}
	info, err := os.Lstat(into)
	return errors.Is(err, fs.ErrNotExist) || err == nil && info.IsDir(), nil
}

// fill returns what it has added, the last first, a folder after what is in it.
func (k Keep) fill(into string) (added []string, err error) {
	made, err := needFolder(into)
	if made {
		added = []string{into}
	}
	if err != nil {
		return added, err
	}
	for _, path := range k.Paths {
		second := filepath.Join(into, filepath.Base(path))
		if exists(second) {
			continue
		}
		if err := double(path, second); err != nil {
			return added, fmt.Errorf("%s cannot be kept in %s: %w", path, into, reason.Bare(err))
		}
		added = slices.Insert(added, 0, second)
	}
	for _, folder := range []string{into, filepath.Dir(into), filepath.Dir(filepath.Dir(into))} {
		if err := syncFolder(folder); err != nil {
			return added, fmt.Errorf("%s: %w", folder, reason.Bare(err))
		}
	}
	return added, nil
}

// double gives a file a second name. On a file system without hard links it is copied; a copy is whole or not there.
func double(path, second string) error {
	if link(path, second) == nil {
		return nil
	}
	info, err := os.Lstat(path)
	if err != nil {
		return err
	}
	data, err := Read(path)
	if err != nil {
		return err
	}
	if err := writeSynced(second, data, info.Mode().Perm()); err != nil {
		_ = os.Remove(second)
		return err
	}
	return nil
}
