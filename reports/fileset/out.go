package fileset

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"wedgework/reports/reason"
)

// Out is the one folder that cells may write into: out/ beside the notebook, made when it is first needed.
type Out struct {
	Folder  string // of the notebook
	written map[string]bool
}

// OutName is what the folder is called.
const OutName = "out"

// What cells may write (choices): bytes of a file, different files of one session.
const (
	MostSaved  = 64 << 20
	MostWrites = 1000
)

// Save writes a file, atomically. The name is a plain one, without a folder. A link or anything but a regular file in
// its place, or a link in the place of the folder, is refused and left as it is.
func (o *Out) Save(name string, data []byte) error {
	if err := CheckOutName(name); err != nil {
		return err
	}
	if len(data) > MostSaved {
		return fmt.Errorf("%s: %d MB are more than the limit of %d MB", name, len(data)>>20, MostSaved>>20)
	}
	if !o.written[name] && len(o.written) >= MostWrites {
		return fmt.Errorf("%s: more than %d files are over the limit of one session", name, MostWrites)
	}
	folder := filepath.Join(o.Folder, OutName)
	info, err := os.Lstat(folder)
	if errors.Is(err, fs.ErrNotExist) {
		if err = os.Mkdir(folder, 0o777); err == nil { // less the umask
			info, err = os.Lstat(folder)
		}
	}
	switch {
	case err != nil:
		return fmt.Errorf("%s/: %w", OutName, reason.Bare(err))
	case !info.IsDir():
		return fmt.Errorf("%s: found something else than a folder, or a link to one, expected a folder", OutName)
	}
	path := filepath.Join(folder, name)
	if info, err := os.Lstat(path); err == nil && !info.Mode().IsRegular() {
		return fmt.Errorf("%s/%s: found something else than a regular file, which is left as it is", OutName, name)
	}
	if err := Replace([]File{{Path: path, Data: data}}); err != nil {
		return fmt.Errorf("%s/%s: %w", OutName, name, reason.Bare(err))
	}
	if o.written == nil {
		o.written = map[string]bool{}
	}
	o.written[name] = true
	return nil
}

// CheckOutName says what is wrong with the name of a file to be written: it is plain on every system.
func CheckOutName(name string) error {
	stem, _, _ := strings.Cut(name, ".")
	switch {
	case name == "" || len(name) > 120:
		return fmt.Errorf("a name has 1 to 120 bytes, got %d", len(name))
	case strings.ContainsAny(name, `/\:*?"<>|`):
		return fmt.Errorf("%q: files are written into %s/ and nowhere else: give a name without a folder", name,
			OutName)
	case strings.HasPrefix(name, ".") || strings.HasSuffix(name, ".") || strings.TrimSpace(name) != name:
		return fmt.Errorf("%q begins or ends with a point or a space", name)
	case devices[strings.ToUpper(strings.TrimRight(stem, " "))]:
		return fmt.Errorf("%q is the name of a device", name)
	}
	for _, r := range name {
		if !unicode.IsPrint(r) || r == unicode.ReplacementChar {
			return fmt.Errorf("%q has a character that does not show", name)
		}
	}
	return nil
}

// devices are names that some systems keep for themselves, whatever follows a point.
var devices = map[string]bool{"CON": true, "PRN": true, "AUX": true, "NUL": true}

func init() {
	for _, n := range "123456789" {
		devices["COM"+string(n)], devices["LPT"+string(n)] = true, true
	}
}
