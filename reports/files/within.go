package files

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"wedgework/reports/reason"
)

// ErrOutside is what a link is refused with that leads out of the folders it may lead to.
var ErrOutside = errors.New("a link that leads outside the folders of the plan and its roots")

// within resolves the links in a path: the first of the folders that holds what it leads to, the way below that folder,
// and where it leads in full; an error where no folder does.
func within(path string, folders []string) (folder, below, real string, err error) {
	real, err = filepath.EvalSymlinks(path)
	if err != nil {
		return "", "", "", err
	}
	if real, err = filepath.Abs(real); err != nil {
		return "", "", "", err
	}
	for _, f := range folders {
		f, err := filepath.EvalSymlinks(f)
		if err == nil {
			f, err = filepath.Abs(f)
		}
		if err != nil {
			continue // it is not there, and holds nothing
		}
		if rel, err := filepath.Rel(f, real); err == nil && filepath.IsLocal(rel) {
			return f, rel, real, nil
		}
	}
	return "", "", "", ErrOutside
}

// OpenWithin is Open for a path whose links must stay within folders. A link that is put there after it was resolved is
// not followed out of them.
func OpenWithin(path string, folders []string) (*os.File, error) {
	f, err := openWithin(path, folders)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, reason.Bare(err))
	}
	return f, nil
}

func openWithin(path string, folders []string) (*os.File, error) {
	folder, below, _, err := within(path, folders)
	if err != nil {
		return nil, err
	}
	root, err := os.OpenRoot(folder)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	f, err := open(below, root.Stat, root.OpenFile)
	if err != nil && escapes(err) {
		return nil, ErrOutside
	}
	return f, err
}
