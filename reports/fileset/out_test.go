package fileset

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A cell writes plain names into out/ and nowhere else.
func TestOutWritesIntoItsFolder(t *testing.T) {
	folder := t.TempDir()
	out := &Out{Folder: folder}
	for _, content := range []string{"first", "second"} { // the second replaces the first
		if err := out.Save("film curve.csv", []byte(content)); err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(filepath.Join(folder, OutName, "film curve.csv")); err != nil || string(got) != content {
			t.Errorf("read back %q %v, want %q", got, err, content)
		}
	}
	entries, err := os.ReadDir(filepath.Join(folder, OutName))
	if err != nil || len(entries) != 1 {
		t.Errorf("out/ holds %v %v, want one file", entries, err)
	}
}

// Names that lead elsewhere, that some system keeps for itself, or that do not show what they are.
func TestOutRefusesNames(t *testing.T) {
	out := &Out{Folder: t.TempDir()}
	for name, want := range map[string]string{
		"":                       "1 to 120 bytes",
		strings.Repeat("a", 121): "got 121",
		"../a.csv":               "without a folder",
		"a/b.csv":                "without a folder",
		`a\b.csv`:                "without a folder",
		"C:a.csv":                "without a folder",
		"a*.csv":                 "without a folder",
		".hidden":                "begins or ends with a point",
		"a.":                     "begins or ends with a point",
		" a.csv":                 "begins or ends with a point",
		"nul.csv":                "name of a device",
		"COM3":                   "name of a device",
		"lpt9 .txt":              "name of a device",
		"a\u202egnp.exe":         "does not show",
		"a\x07.csv":              "does not show",
		"a\xff.csv":              "does not show",
	} {
		if err := out.Save(name, nil); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, want an error with %q", name, err, want)
		}
	}
	if _, err := os.Lstat(filepath.Join(out.Folder, OutName)); err == nil {
		t.Error("a refused name has made the folder")
	}
}

// What stands in the way is refused and left as it is; what is too large or too much is refused.
func TestOutRefusesWhatIsInTheWay(t *testing.T) {
	outside := t.TempDir()
	target := filepath.Join(outside, "target")
	put(t, target, "untouched")
	at := func(place string, make func(out string) error) (*Out, string) {
		folder := filepath.Join(t.TempDir(), place)
		if err := os.Mkdir(folder, 0o777); err != nil {
			t.Fatal(err)
		}
		if err := make(filepath.Join(folder, OutName)); err != nil {
			t.Fatal(err)
		}
		return &Out{Folder: folder}, folder
	}
	in := func(make func(file string) error) func(string) error {
		return func(out string) error {
			if err := os.Mkdir(out, 0o777); err != nil {
				return err
			}
			return make(filepath.Join(out, "a.csv"))
		}
	}
	for what, c := range map[string]struct {
		make func(string) error
		want string
	}{
		"a link as the folder": {func(out string) error { return os.Symlink(outside, out) }, "a link to one"},
		"a file as the folder": {func(out string) error { return os.WriteFile(out, nil, 0o666) }, "expected a folder"},
		"a link as the file":   {in(func(f string) error { return os.Symlink(target, f) }), "than a regular file"},
		"a folder as the file": {in(func(f string) error { return os.Mkdir(f, 0o777) }), "than a regular file"},
	} {
		out, _ := at(what, c.make)
		if err := out.Save("a.csv", []byte("new")); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", what, err, c.want)
		}
	}
	if got, err := os.ReadFile(target); err != nil || string(got) != "untouched" {
		t.Errorf("what a link leads to: %q %v", got, err)
	}
	if _, err := os.Lstat(filepath.Join(outside, "a.csv")); err == nil {
		t.Error("written through a link")
	}

	out := &Out{Folder: t.TempDir()}
	if err := out.Save("big.csv", make([]byte, MostSaved+1)); err == nil || !strings.Contains(err.Error(), "64 MB") {
		t.Errorf("a file beyond the limit: got %v", err)
	}
	for k := range MostWrites {
		if out.written == nil {
			out.written = map[string]bool{}
		}
		out.written[fmt.Sprint(k)] = true
	}
	if err := out.Save("one more.csv", nil); err == nil || !strings.Contains(err.Error(), "more than 1000 files") {
		t.Errorf("a file more than a session may write: got %v", err)
	}
	if err := out.Save("7", []byte{}); err != nil {
		t.Errorf("a file of the session once more: got %v", err)
	}
	if err := (&Out{Folder: filepath.Join(outside, "gone")}).Save("a.csv", nil); err == nil {
		t.Error("written beside a notebook that is not there")
	}
}
