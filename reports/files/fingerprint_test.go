package files

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

// TestLook: what stays the same, and what does not, when a file is left alone, written again, replaced or dated back;
// and that a file system which is no disk is not relied on.
func TestLook(t *testing.T) {
	at := filepath.Join(t.TempDir(), "a")
	put := func(path, text string) {
		t.Helper()
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	var l Looker
	look := func() Fingerprint {
		t.Helper()
		f, sure, err := l.Look(at)
		if err != nil {
			t.Fatal(err)
		}
		if !sure {
			t.Skip("the folder of the test is on a file system that is not relied on")
		}
		info, err := os.Stat(at)
		if err != nil || FingerprintOf(info) != f {
			t.Errorf("%+v, of os.Stat %+v (%v)", f, FingerprintOf(info), err)
		}
		return f
	}
	put(at, "aaa")
	first := look()
	if again := look(); again != first {
		t.Errorf("left alone: %+v, then %+v", first, again)
	}
	day := time.Unix(0, first.Modified)
	time.Sleep(20 * time.Millisecond) // longer than a step of the kernel's clock
	put(at, "bbb")
	if err := os.Chtimes(at, day, day); err != nil {
		t.Fatal(err)
	}
	dated := look()
	if dated.Modified != first.Modified || dated.Size != first.Size || dated == first {
		t.Errorf("dated back: %+v, was %+v", dated, first)
	}
	put(at+".new", "bbb")
	if err := os.Rename(at+".new", at); err != nil {
		t.Fatal(err)
	}
	if replaced := look(); replaced.Inode == first.Inode {
		t.Errorf("replaced: %+v, was %+v", replaced, first)
	}
	if _, _, err := l.Look(filepath.Dir(at)); err == nil {
		t.Error("a folder is looked at as a file")
	}
	if _, sure, err := l.Look("/proc/self/status"); err == nil && sure {
		t.Error("what is in /proc is relied on")
	}
}
