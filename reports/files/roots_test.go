package files

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// tree makes files of path and content below a folder.
func tree(t *testing.T, dir string, files map[string]string) {
	t.Helper()
	for name, content := range files {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		put(t, path, content)
	}
}

func TestRootsRead(t *testing.T) {
	dir := t.TempDir()
	tree(t, dir, map[string]string{
		"book/a.csv": "a", "book/data/b.csv": "b", "shared/c.csv": "c", "shared/a.csv": "other a", "secret/d.csv": "d",
	})
	if err := os.Symlink(filepath.Join(dir, "secret", "d.csv"), filepath.Join(dir, "book", "link.csv")); err != nil {
		t.Fatal(err)
	}
	r, err := OpenRoots(filepath.Join(dir, "book"), filepath.Join(dir, "shared"))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if got := strings.Join(r.List(), " "); got != "a.csv data/b.csv" {
		t.Errorf("lists %q, want the files of the notebook's folder, links and further folders left out", got)
	}
	for _, c := range []struct{ path, name, content, refused string }{
		{path: "a.csv", name: "a.csv", content: "a"},
		{path: "data/b.csv", name: "b.csv", content: "b"},
		{path: "./data/../a.csv", name: "a.csv", content: "a"},
		{path: "../shared/c.csv", name: "c.csv", content: "c"},
		{path: filepath.Join(dir, "shared", "c.csv"), name: "c.csv", content: "c"},
		{path: "../secret/d.csv", refused: "../secret/d.csv lies outside the folder of the notebook and every --root " +
			"DIR"},
		{path: filepath.Join(dir, "secret", "d.csv"), refused: "lies outside"},
		{path: "../shared/../secret/d.csv", refused: "lies outside"},
		{path: "link.csv", refused: "link.csv is a link that leads outside the folder of the notebook and every " +
			"--root DIR"},
		{path: "absent.csv", refused: "there is no file absent.csv (paths are relative to the notebook)"},
		{path: "data", refused: "data: found a folder, expected a regular file"},
		{path: "", refused: "found a folder, expected a regular file"},
	} {
		data, found, err := r.Read(t.Context(), c.path)
		switch {
		case c.refused != "":
			if err == nil || !strings.Contains(err.Error(), c.refused) {
				t.Errorf("read(%q): got %q and error %v, want a refusal with %q", c.path, data, err, c.refused)
			}
		case err != nil:
			t.Errorf("read(%q): %v", c.path, err)
		case filepath.Base(found) != c.name || string(data) != c.content:
			t.Errorf("read(%q) = %s with %q, want %s with %q", c.path, found, data, c.name, c.content)
		}
	}
}

func TestRootsMustBeFolders(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		own  string
		more []string
		want string
	}{
		{filepath.Join(dir, "absent"), nil, "the folder of the notebook: "},
		{dir, []string{filepath.Join(dir, "absent")}, "--root: "},
	} {
		r, err := OpenRoots(c.own, c.more...)
		if err == nil {
			r.Close()
			t.Errorf("OpenRoots(%s, %s) succeeded, want an error", c.own, c.more)
		} else if !strings.HasPrefix(err.Error(), c.want) || !strings.Contains(err.Error(), "no such file") {
			t.Errorf("got %q, want it to begin with %q and give the reason", err, c.want)
		}
	}
}

func put(t *testing.T, path, content string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
}
