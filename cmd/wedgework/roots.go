package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"wedgework/reports/measured"
	"wedgework/reports/reason"
)

// roots are the folders a notebook may read from: its own first, then those of --root. A path in the
// notebook is relative to the first. os.Root keeps links and ".." inside.
type roots struct {
	folders []string // absolute, cleaned
	open    []*os.Root
}

func openRoots(own string, more []string) (*roots, error) {
	r := &roots{}
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
		r.close()
		what := "--root"
		if i == 0 {
			what = "the folder of the notebook"
		}
		return nil, fmt.Errorf("%s: %w", what, reason.Plain(err))
	}
	return r, nil
}

func (r *roots) close() {
	for _, root := range r.open {
		root.Close()
	}
}

// read reads a file by the path a notebook wrote. It is an error for it to lie outside every root or to be
// no regular file.
func (r *roots) read(path string) (measured.File, error) {
	name := filepath.FromSlash(path)
	if !filepath.IsAbs(name) {
		name = filepath.Join(r.folders[0], name)
	}
	var refused error
	for i, folder := range r.folders {
		rel, err := filepath.Rel(folder, name)
		if err != nil || !filepath.IsLocal(rel) {
			continue
		}
		data, err := readRegular(r.open[i], rel)
		if err == nil {
			return measured.NewFile(filepath.Base(name), data), nil
		}
		if refused == nil || errors.Is(refused, fs.ErrNotExist) {
			refused = err
		}
	}
	switch {
	case refused == nil:
		return measured.File{}, fmt.Errorf("%s lies outside the folder of the notebook and every --root DIR", path)
	case strings.HasSuffix(refused.Error(), "path escapes from parent"): // as os.Root says it, and offers no name for
		return measured.File{}, fmt.Errorf("%s is a link that leads outside the folder of the notebook and every --root DIR", path)
	case errors.Is(refused, fs.ErrNotExist):
		return measured.File{}, fmt.Errorf("there is no file %s (paths are relative to the notebook)", path)
	}
	return measured.File{}, fmt.Errorf("%s: %w", path, reason.Plain(refused))
}

// mostBytes bounds a file: a million readings are some 30 MB, and all of it is held in memory. A choice.
const mostBytes = 256 << 20

var errTooLarge = fmt.Errorf("found a file of more than %d MB, which is more than is read", mostBytes>>20)

func readRegular(root *os.Root, rel string) ([]byte, error) {
	info, err := root.Stat(rel) // before opening: a pipe would wait for its writer
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New("found no regular file")
	}
	if info.Size() > mostBytes {
		return nil, errTooLarge
	}
	f, err := root.Open(rel)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
	if err == nil && len(data) > mostBytes { // it has grown meanwhile
		return nil, errTooLarge
	}
	return data, err
}
