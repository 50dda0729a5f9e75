package regenerate

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// come waits until files have come to rest.
func come() { time.Sleep(rest + 50*time.Millisecond) }

// restedFolder is a folder of reports whose table of files says all of a, b and c.
func restedFolder(t *testing.T) string {
	t.Helper()
	return restedFolders(t, 1)[0]
}

// restedFolders are n of them, which come to rest together.
func restedFolders(t *testing.T, n int) []string {
	t.Helper()
	folders := make([]string, n)
	for i := range folders {
		folders[i] = put(t, map[string]string{"plan.toml": plan, "n.ipynb": "n", "own.csv": "1", "in/a.csv": "aaa",
			"in/b.csv": "fail", "in/c.csv": "read own"})
		regenerated(t, folders[i], Options{})
	}
	come()
	for _, folder := range folders {
		if d := cmp.Diff(allFresh, regenerated(t, folder, Options{})); d != "" {
			t.Fatalf("(-want +got):\n%s", d)
		}
	}
	return folders
}

var allFresh = []string{"a.pdf 0 fresh", "b.pdf 1 fresh", "c.pdf 0 fresh"}

// blind makes a ledger unreadable without changing its inode and size: whoever reads it makes everything again.
func blind(t *testing.T, folder string) {
	t.Helper()
	path := filepath.Join(folder, "out", LedgerName)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	write(t, folder, filepath.Join("out", LedgerName), strings.Repeat("#", len(data)-1)+"\n")
}

// dated writes a file and gives it the time of the one that was there, as touch -d does.
func dated(t *testing.T, folder, name, text string, anew bool) {
	t.Helper()
	path := filepath.Join(folder, name)
	before, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	at := name
	if anew {
		at += ".new"
	}
	write(t, folder, at, text)
	if err := os.Chtimes(filepath.Join(folder, at), before.ModTime(), before.ModTime()); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(filepath.Join(folder, at), path); err != nil {
		t.Fatal(err)
	}
	after, err := os.Stat(path)
	if err != nil || after.Size() != before.Size() || !after.ModTime().Equal(before.ModTime()) {
		t.Fatalf("%s: %v, size and time are to be the same", name, err)
	}
}

// TestSeen: where nothing was touched, neither contents nor the ledger are read, also after the tree was moved;
// whatever was touched is found by its content, whatever its size and its time say.
func TestSeen(t *testing.T) {
	dataA := []string{"a.pdf 0 the data changed", "b.pdf 1 fresh", "c.pdf 0 fresh"}
	cases := []struct {
		what string
		do   func(t *testing.T, folder string) Options
		want []string
	}{
		{"nothing", func(t *testing.T, folder string) Options { blind(t, folder); return Options{} }, allFresh},
		{"same size and time", func(t *testing.T, folder string) Options {
			dated(t, folder, "in/a.csv", "AAA", false)
			return Options{}
		}, dataA},
		{"another inode of the same size and time", func(t *testing.T, folder string) Options {
			dated(t, folder, "in/a.csv", "AAA", true)
			return Options{}
		}, dataA},
		{"another inode with the same content", func(t *testing.T, folder string) Options {
			dated(t, folder, "in/a.csv", "aaa", true)
			return Options{}
		}, allFresh},
		{"only the time", func(t *testing.T, folder string) Options {
			write(t, folder, "in/a.csv", "aaa")
			return Options{}
		}, allFresh},
		{"a file of a report, same size and time", func(t *testing.T, folder string) Options {
			dated(t, folder, "out/b.json", "1 FAIL", false)
			return Options{}
		}, []string{"a.pdf 0 fresh", "b.pdf 1 b.json is not the file that was written", "c.pdf 0 fresh"}},
		{"what a notebook reads, same size and time", func(t *testing.T, folder string) Options {
			dated(t, folder, "own.csv", "2", false)
			return Options{}
		}, []string{"a.pdf 0 fresh", "b.pdf 1 fresh", "c.pdf 0 own.csv, which the notebook reads, changed"}},
		{"the notebook, same size and time", func(t *testing.T, folder string) Options {
			dated(t, folder, "n.ipynb", "m", false)
			return Options{}
		}, []string{"a.pdf 0 the notebook changed", "b.pdf 1 the notebook changed", "c.pdf 0 the notebook changed"}},
		{"a setting", func(t *testing.T, folder string) Options {
			write(t, folder, "plan.toml", strings.Replace(plan, `"1 "`, `"2 "`, 1))
			return Options{}
		}, []string{"a.pdf 0 a setting changed", "b.pdf 1 a setting changed", "c.pdf 0 a setting changed"}},
		{"the program", func(*testing.T, string) Options {
			return Options{Identity: Identity{Program: "p2", Constants: "c1"}}
		}, []string{"a.pdf 0 the program changed", "b.pdf 1 the program changed", "c.pdf 0 the program changed"}},
		{"a file of a report is gone", func(t *testing.T, folder string) Options {
			if err := os.Remove(filepath.Join(folder, "out/a.pdf")); err != nil {
				t.Fatal(err)
			}
			return Options{}
		}, []string{"a.pdf 0 a.pdf is not the file that was written", "b.pdf 1 fresh", "c.pdf 0 fresh"}},
		{"the ledger is gone", func(t *testing.T, folder string) Options {
			if err := os.Remove(filepath.Join(folder, "out", LedgerName)); err != nil {
				t.Fatal(err)
			}
			return Options{}
		}, []string{"a.pdf 0 new", "b.pdf 1 new", "c.pdf 0 new"}},
		{"the table is cut short", func(t *testing.T, folder string) Options {
			path := filepath.Join(folder, "out", SeenName)
			info, err := os.Stat(path)
			if err == nil {
				err = os.Truncate(path, info.Size()*2/3)
			}
			if err != nil {
				t.Fatal(err)
			}
			blind(t, folder)
			return Options{}
		}, []string{"a.pdf 0 new", "b.pdf 1 new", "c.pdf 0 new"}},
		{"a part of the plan", func(t *testing.T, folder string) Options {
			return Options{Shard: Shard{1, 1}}
		}, allFresh},
		{"asked for", func(*testing.T, string) Options { return Options{Force: true} },
			[]string{"a.pdf 0 asked for", "b.pdf 1 asked for", "c.pdf 0 asked for"}},
	}
	folders := restedFolders(t, len(cases))
	for i, c := range cases {
		t.Run(c.what, func(t *testing.T) {
			folder := folders[i]
			o := c.do(t, folder)
			if d := cmp.Diff(c.want, regenerated(t, folder, o)); d != "" {
				t.Errorf("(-want +got):\n%s", d)
			}
			o.Force = false
			if d := cmp.Diff(allFresh, regenerated(t, folder, o)); d != "" {
				t.Errorf("again (-want +got):\n%s", d)
			}
		})
	}
}

// TestSeenMoved: a tree that is moved keeps its table.
func TestSeenMoved(t *testing.T) {
	t.Parallel()
	folder := restedFolder(t)
	blind(t, folder)
	moved := filepath.Join(t.TempDir(), "moved")
	if err := os.Rename(folder, moved); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(allFresh, regenerated(t, moved, Options{})); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

// TestSeenTooSoon: of files that were written a moment before a run, whose times need not tell what is written next,
// the contents are read, until they have come to rest.
func TestSeenTooSoon(t *testing.T) {
	t.Parallel()
	folder := put(t, map[string]string{"plan.toml": plan, "n.ipynb": "n", "in/a.csv": "a"})
	regenerated(t, folder, Options{})
	regenerated(t, folder, Options{})
	if s := openSeen(filepath.Join(folder, "out")); len(s.lines) != 0 {
		t.Fatalf("seen a moment after it was written: %v", s.lines)
	}
	come()
	regenerated(t, folder, Options{})
	if s := openSeen(filepath.Join(folder, "out")); len(s.lines) != 1 {
		t.Fatalf("not seen at rest: %v", s.lines)
	}
	later := time.Now().Add(time.Hour)
	if err := os.Chtimes(filepath.Join(folder, "in/a.csv"), later, later); err != nil {
		t.Fatal(err)
	}
	come()
	regenerated(t, folder, Options{}) // by content: the table does not tell of a file from the future
	blind(t, folder)
	if got := regenerated(t, folder, Options{}); got[0] != "a.pdf 0 new" {
		t.Errorf("a file from the future was not read: %s", got[0])
	}
}

// TestSeenLinesAdded: what a run that was killed before it wrote the table added to the ledger holds.
func TestSeenLinesAdded(t *testing.T) {
	t.Parallel()
	folder := restedFolder(t)
	before, err := os.ReadFile(filepath.Join(folder, "out", SeenName))
	if err != nil {
		t.Fatal(err)
	}
	write(t, folder, "in/a.csv", "bbb")
	regenerated(t, folder, Options{})
	write(t, folder, filepath.Join("out", SeenName), string(before))
	l, err := openLedger(filepath.Join(folder, "out"), Shard{})
	if err != nil {
		t.Fatal(err)
	}
	defer l.close()
	if _, known := l.seen.lines["a.pdf"]; known || !l.unread || len(l.seen.lines) != 2 {
		t.Errorf("a.pdf seen: %v; ledger unread: %v; %d lines", known, l.unread, len(l.seen.lines))
	}
	if d := cmp.Diff(allFresh, regenerated(t, folder, Options{})); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

// TestSeenElsewhere: on a file system of another kind than a disk, as a share, only contents tell.
func TestSeenElsewhere(t *testing.T) {
	t.Parallel()
	const share = "/proc/sys/kernel/ostype"
	if _, err := os.Stat(share); err != nil {
		t.Skip(err)
	}
	elsewhere := strings.NewReplacer("in/{unit}.csv", share, "{unit}", "a").Replace(plan)
	folder := put(t, map[string]string{"plan.toml": elsewhere, "n.ipynb": "n"})
	regenerated(t, folder, Options{})
	come()
	if got := regenerated(t, folder, Options{}); got[0] != "a.pdf 0 fresh" {
		t.Error(got)
	}
	if s := openSeen(filepath.Join(folder, "out")); len(s.lines) != 0 {
		t.Errorf("seen on a share: %v", s.lines)
	}
}

// TestSeenNames: a report whose names the table cannot hold is judged by its contents.
func TestSeenNames(t *testing.T) {
	t.Parallel()
	folder := put(t, map[string]string{"plan.toml": strings.Replace(plan, "{unit}.pdf", "{unit}|.pdf", 1), "n.ipynb": "n",
		"in/a.csv": "a", "in/b\tc.csv": "b"})
	regenerated(t, folder, Options{})
	come()
	want := []string{"a_.pdf 0 fresh", "b_c_.pdf 0 fresh"}
	for range 2 {
		got := regenerated(t, folder, Options{})
		for i := range got {
			got[i] = strings.ReplaceAll(got[i], "|", "_")
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("(-want +got):\n%s", d)
		}
	}
}
