package fileset

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wedgework/reports/files"
	"wedgework/reports/reason"
)

// journal is what a replacement says before it begins: the files in the order of their renames, by base name. The
// folder may be moved between two runs.
type journal struct {
	Files []entry `json:"files"`
}

type entry struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"` // of the new content; "" for a file that is to go
	Had    bool   `json:"had"`    // whether there was a file of this name before
}

func newJournal(files []File) journal {
	var j journal
	for _, f := range files {
		e := entry{Name: filepath.Base(f.Path), Had: exists(f.Path)}
		if f.Data != nil {
			sum := sha256.Sum256(f.Data)
			e.SHA256 = hex.EncodeToString(sum[:])
		}
		j.Files = append(j.Files, e)
	}
	return j
}

// write brings the journal of a set to disk, its name included: nothing else has happened yet.
func (j journal) write(last string) error {
	data, err := json.Marshal(j)
	if err != nil {
		return err
	}
	if err := writeSynced(journalOf(last), data, 0o666); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(last))
}

// Settle finishes or undoes every replacement that was cut short in a folder, and returns how many there were.
// It waits for a replacement that is under way.
func Settle(folder string) (int, error) {
	unlock, err := lock(folder)
	if err != nil {
		return 0, err
	}
	defer unlock()
	var found []string
	err = files.NamesIn(folder, func(name string) {
		last, ok := strings.CutSuffix(name, mark+"journal")
		if ok && len(last) > 1 && last[0] == '.' {
			found = append(found, last[1:])
		}
	})
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return 0, reason.Plain(err)
	}
	slices.Sort(found)
	for i, name := range found {
		if err := settle(filepath.Join(folder, name)); err != nil {
			return i, err
		}
	}
	return len(found), nil
}

// settle brings the set whose last file is at path into one state from wherever a replacement stopped. The fresh
// copy of the last file is the last to be written and the last to go: while it is there, the commit point was not
// passed, and every file that has its new content already gets its former one back; without it the replacement is
// complete, or never touched a file. Without a journal nothing was begun. Killed itself, it can begin anew.
func settle(path string) error {
	data, err := Read(journalOf(path))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	var j journal
	// A journal that does not read was cut short itself, and it is complete before anything else begins.
	if json.Unmarshal(data, &j) == nil {
		if err := j.settle(filepath.Dir(path), filepath.Base(path)); err != nil {
			return err
		}
	}
	_ = syncFolder(filepath.Dir(path)) // what was put back, before the journal is gone
	return reason.Plain(removeAny(journalOf(path)))
}

func (j journal) settle(folder, last string) error {
	for _, e := range j.Files {
		if e.Name != filepath.Base(e.Name) || e.Name == "." || e.Name == ".." {
			return fmt.Errorf("%s: found the name %q, expected one of this folder",
				journalOf(filepath.Join(folder, last)),
				e.Name)
		}
	}
	if n := len(j.Files); n > 0 && exists(fresh(filepath.Join(folder, last))) {
		for _, e := range j.Files[:n-1] {
			if err := e.putBack(folder); err != nil {
				return fmt.Errorf("%s cannot be put back: %w", filepath.Join(folder, e.Name), reason.Bare(err))
			}
		}
	}
	for _, e := range j.Files {
		path := filepath.Join(folder, e.Name)
		for _, left := range []string{former(path), fresh(path)} {
			if err := removeAny(left); err != nil {
				return reason.Plain(err)
			}
		}
	}
	return nil
}

// reached tells whether a file has been replaced, or is gone as it should be. A fresh copy that waits says no; so do
// other contents than the new one, where a settling that was cut short has removed the fresh copy.
func (e entry) reached(folder string) bool {
	path := filepath.Join(folder, e.Name)
	if e.SHA256 == "" {
		return !exists(path)
	}
	sum, err := files.Hash(path)
	return err == nil && sum == e.SHA256 && !exists(fresh(path))
}

// putBack gives a file its former content again, or none when it had none.
func (e entry) putBack(folder string) error {
	path := filepath.Join(folder, e.Name)
	switch {
	case !e.reached(folder):
		return nil
	case exists(former(path)):
		return Rename(former(path), path)
	case e.Had:
		return nil // put back already, and the former content is the new one
	}
	return removeAny(path)
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}
