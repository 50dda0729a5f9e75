package files

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wedgework/reports/reason"
)

// Roots are the folders that a notebook may read from: its own first, then those that a person adds. A path in the
// notebook is relative to the first. os.Root keeps links and ".." inside.
type Roots struct {
	Further string // what a person calls the further folders; "every --root DIR" when left empty

	folders []string // absolute, cleaned
	open    []*os.Root
}

// OpenRoots opens the notebook's own folder and further ones. The error is a *RootError.
func OpenRoots(own string, more ...string) (*Roots, error) {
	r := &Roots{}
	for i, dir := range append([]string{own}, more...) {
		abs, err := filepath.Abs(dir)
		if err == nil {
			var root *os.Root
			if root, err = os.OpenRoot(abs); err == nil {
				r.folders = append(r.folders, abs)
				r.open = append(r.open, root)
				continue
			}
		}
		r.Close()
		return nil, &RootError{Index: i - 1, Err: reason.Plain(err)}
	}
	return r, nil
}

// RootError says which of the folders cannot be opened: that of the notebook (Index -1) or a further one.
type RootError struct {
	Index int
	Err   error
}

func (e *RootError) Error() string {
	if e.Index < 0 {
		return "the folder of the notebook: " + e.Err.Error()
	}
	return "--root: " + e.Err.Error()
}

// Unwrap returns the reason.
func (e *RootError) Unwrap() error { return e.Err }

// Close lets go of the folders.
func (r *Roots) Close() {
	for _, root := range r.open {
		root.Close()
	}
}

// Read reads a file by the path that a notebook wrote, and returns where it was found. It is an error for the file to
// lie outside every root or to be no regular file. It ends with its context.
func (r *Roots) Read(ctx context.Context, path string) (data []byte, found string, err error) {
	found = filepath.FromSlash(path)
	if !filepath.IsAbs(found) {
		found = filepath.Join(r.folders[0], found)
	}
	var refused error
	for i, folder := range r.folders {
		rel, err := filepath.Rel(folder, found)
		if err != nil || !filepath.IsLocal(rel) {
			continue
		}
		data, err := readIn(ctx, r.open[i], rel)
		if err == nil {
			return data, found, nil
		}
		if refused == nil || errors.Is(refused, fs.ErrNotExist) {
			refused = err
		}
	}
	further := r.Further
	if further == "" {
		further = "every --root DIR"
	}
	outside := "outside the folder of the notebook and " + further
	switch {
	case refused == nil:
		return nil, "", fmt.Errorf("%s lies %s", path, outside)
	case escapes(refused):
		return nil, "", fmt.Errorf("%s is a link that leads %s", path, outside)
	case errors.Is(refused, fs.ErrNotExist):
		return nil, "", fmt.Errorf("there is no file %s (paths are relative to the notebook)", path)
	}
	return nil, "", fmt.Errorf("%s: %w", path, reason.Plain(refused))
}

// Bounds of List, so that a key press never walks a whole disk. Choices.
const (
	mostListed  = 500
	deepest     = 3    // folders below that of the notebook
	mostVisited = 5000 // entries of folders
)

// List names the files of the notebook's folder and of the folders in it, by the paths that a notebook would write,
// sorted: what begins with a point left out, and no more than a person would want to choose among.
func (r *Roots) List() []string {
	var list []string
	visited := 0
	_ = fs.WalkDir(r.open[0].FS(), ".", func(path string, d fs.DirEntry, err error) error {
		if visited++; visited > mostVisited || len(list) == mostListed {
			return fs.SkipAll
		}
		switch {
		case err != nil: // a folder that cannot be read holds nothing
			return fs.SkipDir
		case path == ".":
			return nil
		case strings.HasPrefix(d.Name(), "."):
			if d.IsDir() {
				return fs.SkipDir
			}
		case d.IsDir():
			if strings.Count(path, "/") >= deepest-1 {
				return fs.SkipDir
			}
		case d.Type().IsRegular():
			list = append(list, path)
		}
		return nil
	})
	slices.Sort(list)
	return list
}

// escapes tells a link that leads out of a root, as os.Root says it and offers no name for.
func escapes(err error) bool { return strings.HasSuffix(err.Error(), "path escapes from parent") }

func readIn(ctx context.Context, root *os.Root, rel string) ([]byte, error) {
	f, err := open(rel, root.Stat, root.OpenFile)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return content(ctx, f, Most)
}
