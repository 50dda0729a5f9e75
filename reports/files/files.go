// Package files reads regular files, and only those: whatever a person, a plan or a notebook names is opened here. A
// folder, a named pipe, a socket or a device is refused before a byte is read, for a pipe may never end and a device
// may act when it is opened.
package files

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"unsafe"

	"wedgework/reports/reason"
)

// Most bounds a file that is read whole: a million readings are some 30 MB, and all of it is held in memory. A choice.
const Most = 256 << 20

// Read returns the content of a regular file of at most Most bytes. The error names the file as it was given.
func Read(path string) ([]byte, error) { return ReadUpTo(path, Most) }

// ReadContext is Read for a file that may be large: it ends with its context.
func ReadContext(ctx context.Context, path string) ([]byte, error) {
	f, err := Open(path)
	if err != nil {
		return nil, err
	}
	return all(ctx, path, f, Most)
}

// ReadUpTo is Read with a bound of its own.
func ReadUpTo(path string, most int64) ([]byte, error) {
	f, err := Open(path)
	if err != nil {
		return nil, err
	}
	return all(context.Background(), path, f, most)
}

// ReadWithin is ReadContext for a path whose links must stay within folders.
func ReadWithin(ctx context.Context, path string, folders []string) ([]byte, error) {
	f, err := OpenWithin(path, folders)
	if err != nil {
		return nil, err
	}
	return all(ctx, path, f, Most)
}

// all reads a file and closes it.
func all(ctx context.Context, path string, f *os.File, most int64) ([]byte, error) {
	defer f.Close()
	data, err := content(ctx, f, most)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, reason.Bare(err))
	}
	return data, nil
}

// Open opens a regular file for reading. The error names the file as it was given.
func Open(path string) (*os.File, error) {
	f, err := open(path, os.Stat, os.OpenFile)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, reason.Bare(err))
	}
	return f, nil
}

// open looks before it opens, and again at what it has opened: another file may have taken the name in between.
func open(name string, stat func(string) (fs.FileInfo, error),
	openFile func(string, int, fs.FileMode) (*os.File, error)) (*os.File, error) {
	info, err := stat(name)
	if err == nil {
		err = Regular(info.Mode())
	}
	if err != nil {
		return nil, err
	}
	f, err := openFile(name, os.O_RDONLY|nonBlocking, 0)
	if err != nil {
		return nil, err
	}
	if info, err = f.Stat(); err == nil {
		err = Regular(info.Mode())
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// content reads an open file, which may grow meanwhile.
func content(ctx context.Context, f *os.File, most int64) ([]byte, error) {
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if info.Size() > most {
		return nil, tooLarge(most)
	}
	// A builder of strings takes its room without clearing it: to clear 200 MB, page after page, takes half a second in
	// which nothing looks at the context.
	var b strings.Builder
	b.Grow(int(info.Size()) + 1)
	in := &pieces{ctx, io.LimitReader(f, most+1)}
	for some := make([]byte, min(piece, info.Size()+1)); err == nil; {
		var n int
		n, err = in.Read(some)
		b.Write(some[:n])
	}
	switch {
	case err != io.EOF:
		return nil, err
	case int64(b.Len()) > most:
		return nil, tooLarge(most)
	case b.Len() == 0:
		return []byte{}, nil
	}
	text := b.String()
	return unsafe.Slice(unsafe.StringData(text), len(text)), nil // nothing else holds the text
}

// piece is how much is read before the context is looked at again: a slow disk gives it in some 10 ms. A choice.
const piece = 1 << 20

// pieces reads no more than a piece at once, and nothing once its context has ended.
type pieces struct {
	ctx context.Context
	io.Reader
}

func (p *pieces) Read(into []byte) (int, error) {
	if err := p.ctx.Err(); err != nil {
		return 0, err
	}
	return p.Reader.Read(into[:min(len(into), piece)])
}

func tooLarge(most int64) error {
	return fmt.Errorf("found a file of more than %d MB, expected at most that", most>>20)
}

// Regular returns an error that says what else than a regular file a mode stands for; nil for a regular file.
func Regular(mode fs.FileMode) error {
	switch {
	case mode.IsRegular():
		return nil
	case mode.IsDir():
		return errors.New("found a folder, expected a regular file")
	case mode&fs.ModeNamedPipe != 0:
		return errors.New("found a pipe, expected a regular file")
	case mode&fs.ModeSocket != 0:
		return errors.New("found a socket, expected a regular file")
	case mode&fs.ModeDevice != 0:
		return errors.New("found a device, expected a regular file")
	}
	return errors.New("found something else than a regular file")
}

// Hash returns the SHA-256 of a regular file's content, in hexadecimal.
func Hash(path string) (string, error) {
	f, err := Open(path)
	if err != nil {
		return "", err
	}
	return hash(context.Background(), path, f)
}

// HashWithin is Hash for a path whose links must stay within folders, and for a file that Read would read. It ends with
// its context.
func HashWithin(ctx context.Context, path string, folders []string) (string, error) {
	f, err := OpenWithin(path, folders)
	if err != nil {
		return "", err
	}
	if info, err := f.Stat(); err == nil && info.Size() > Most {
		f.Close()
		return "", fmt.Errorf("%s: %w", path, tooLarge(Most))
	}
	return hash(ctx, path, f)
}

func hash(ctx context.Context, path string, f *os.File) (string, error) {
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, &pieces{ctx, f}); err != nil {
		return "", fmt.Errorf("%s: %w", path, reason.Bare(err))
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}
