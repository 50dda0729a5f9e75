package fileset

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var trio = []string{"r.ipynb", "r.json", "r.pdf"}

func targets(dir, content string) []File {
	var files []File
	for _, name := range trio {
		files = append(files, File{filepath.Join(dir, name), []byte(content + " " + name)})
	}
	return files
}

// listing reads a folder: name to content.
func listing(t *testing.T, dir string) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]string{}
	for _, e := range entries {
		if e.IsDir() {
			all[e.Name()] = "folder"
			continue
		}
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		all[e.Name()] = string(data)
	}
	return all
}

func set(content string) map[string]string {
	all := map[string]string{}
	for _, name := range trio {
		all[name] = content + " " + name
	}
	return all
}

func put(t *testing.T, path, content string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestReplaceWritesAllAndLeavesNothingElse(t *testing.T) {
	dir := t.TempDir()
	for _, content := range []string{"first", "second"} {
		if err := Replace(targets(dir, content)); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(listing(t, dir), set(content)); diff != "" {
			t.Errorf("after the %s run, -got +want:\n%s", content, diff)
		}
	}
}

func TestReplaceKeepsPermissions(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "r.pdf"), "old")
	if err := Replace(targets(dir, "new")); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(filepath.Join(dir, "r.pdf"))
	if err != nil {
		t.Fatal(err)
	}
	if got := info.Mode().Perm(); got != 0o600 {
		t.Errorf("permissions = %o, want 600 as before", got)
	}
}

// A folder in the place of any of the files cannot be replaced by one: nothing else may change then.
func TestReplaceFailsWhole(t *testing.T) {
	for _, blocked := range trio {
		for _, before := range []string{"", "old"} {
			dir := t.TempDir()
			if before != "" {
				for name, content := range set(before) {
					put(t, filepath.Join(dir, name), content)
				}
				if err := os.Remove(filepath.Join(dir, blocked)); err != nil {
					t.Fatal(err)
				}
			}
			if err := os.Mkdir(filepath.Join(dir, blocked), 0o700); err != nil {
				t.Fatal(err)
			}
			want := listing(t, dir)
			err := Replace(targets(dir, "new"))
			if err == nil || !strings.Contains(err.Error(), blocked+": found a folder of this name") {
				t.Errorf("%s blocked: got error %v, want one that names the folder", blocked, err)
			}
			if diff := cmp.Diff(listing(t, dir), want); diff != "" {
				t.Errorf("%s blocked over %q, -got +want:\n%s", blocked, before, diff)
			}
		}
	}
}

// stop plays a replacement up to a step and leaves the folder as a killed run would: n fresh copies, k
// former names, m renames.
func stop(t *testing.T, files []File, n, k, m int) {
	t.Helper()
	if err := newJournal(files).write(files[len(files)-1].Path); err != nil {
		t.Fatal(err)
	}
	for _, f := range files[:n] {
		if err := writeFresh(f); err != nil {
			t.Fatal(err)
		}
	}
	for _, f := range files[:k] {
		if err := keepFormer(f.Path); err != nil {
			t.Fatal(err)
		}
	}
	for _, f := range files[:m] {
		if err := os.Rename(fresh(f.Path), f.Path); err != nil {
			t.Fatal(err)
		}
	}
}

func TestNextRunSettlesWhatAKilledOneLeft(t *testing.T) {
	for _, before := range []string{"", "old"} {
		for _, at := range [][3]int{{0, 0, 0}, {1, 0, 0}, {2, 0, 0}, {3, 0, 0}, {3, 1, 0}, {3, 3, 0}, {3, 3, 1},
			{3, 3, 2},
			{3, 3, 3}} {
			dir := t.TempDir()
			want := map[string]string{}
			if before != "" {
				want = set(before)
				for name, content := range want {
					put(t, filepath.Join(dir, name), content)
				}
			}
			files := targets(dir, "killed")
			stop(t, files, at[0], at[1], at[2])
			if at[2] == 3 { // past the commit point
				want = set("killed")
			}
			// A settling that is killed leaves a file put back and its fresh copy gone: the next takes it from there.
			if at[2] == 2 {
				if err := newJournal(files).Files[0].putBack(dir); err != nil {
					t.Fatal(err)
				}
			}
			if err := settle(files[len(files)-1].Path); err != nil {
				t.Errorf("over %q, killed at %v: %v", before, at, err)
				continue
			}
			if diff := cmp.Diff(listing(t, dir), want); diff != "" {
				t.Errorf("over %q, killed at %v, -got +want:\n%s", before, at, diff)
			}
			if err := Replace(targets(dir, "next")); err != nil {
				t.Errorf("the run after one killed at %v: %v", at, err)
			}
		}
	}
}

func TestReplaceNeedsTheFolder(t *testing.T) {
	err := Replace(targets(filepath.Join(t.TempDir(), "absent"), "x"))
	if err == nil || !strings.Contains(err.Error(), "the folder of the report") {
		t.Errorf("got %v, want an error about the folder", err)
	}
}

func TestRunsInOneFolderTakeTurns(t *testing.T) {
	dir := t.TempDir()
	const runs = 8
	done := make(chan error, runs)
	var want []map[string]string
	for i := range runs {
		content := string(rune('a' + i))
		want = append(want, set(content))
		go func() { done <- Replace(targets(dir, content)) }()
	}
	for range runs {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
	got := listing(t, dir)
	if !slices.ContainsFunc(want, func(w map[string]string) bool { return cmp.Equal(got, w) }) {
		t.Errorf("got %v, want the three files of one run and nothing else", got)
	}
}
