//go:build linux

package fileset

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// small mounts a file system of its own on a folder of the test. Only root may: others skip.
func small(t *testing.T, options string) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, options); err != nil {
		t.Skipf("a small file system cannot be mounted here: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// unharmed replaces generation 1 by 2 in a folder where something may be short: either all of it is done, or an error
// says what failed and the former set is there, with nothing beside it but what the test put there.
func unharmed(t *testing.T, dir, ballast string) (err error) {
	t.Helper()
	err = Replace(generation(dir, 2))
	want := written(2)
	if err != nil {
		want = written(1)
		if !errors.Is(err, syscall.ENOSPC) {
			t.Errorf("got %v, want an error that says there is no space", err)
		}
	}
	got := listing(t, dir)
	delete(got, ballast)
	if diff := cmp.Diff(got, want); diff != "" {
		t.Fatalf("after %v, -got +want:\n%.2000s", err, diff)
	}
	return err
}

// The space runs out a page sooner each time, so that every write fails once.
func TestFullFileSystem(t *testing.T) {
	dir := small(t, "size=160k")
	ballast := filepath.Join(dir, "ballast")
	failures, successes := 0, 0
	for size := 0; ; size += 4096 {
		if err := os.WriteFile(ballast, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := Replace(generation(dir, 1)); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(ballast, make([]byte, size), 0o600); err != nil {
			break // nothing is left for anybody
		}
		if unharmed(t, dir, "ballast") == nil {
			successes++
		} else {
			failures++
		}
	}
	t.Logf("%d replacements ran out of space, %d did not", failures, successes)
	if failures < 10 || successes < 1 {
		t.Errorf("%d failures and %d successes: the test shows too little", failures, successes)
	}
}

// The space runs out while the former set is copied among the superseded, on a file system without hard links, or while
// the new one is written: either the new set stands there and the former one was kept whole, or the former one stands
// there and nothing was kept.
func TestFullFileSystemKeeps(t *testing.T) {
	dir := small(t, "size=240k")
	ballast := filepath.Join(dir, "ballast")
	failures, successes := 0, 0
	for size := 0; ; size += 4096 {
		if err := errors.Join(os.WriteFile(ballast, nil, 0o600), Replace(generation(dir, 2))); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(ballast, make([]byte, size), 0o600); err != nil {
			break // nothing is left for anybody
		}
		k, err := keepOf(dir, 2)
		if err != nil {
			t.Fatal(err)
		}
		end := Inject(func(call, _ string) error {
			if call == "link" {
				return syscall.EPERM
			}
			return nil
		})
		kept, err := ReplaceKeeping(generation(dir, 3), k, nil)
		end()
		if err == nil {
			successes++
			checkFolder(t, "a replacement", kept, written(2))
		} else {
			failures++
			if _, there := os.Lstat(k.Folder); !errors.Is(err, syscall.ENOSPC) || kept != "" || there == nil {
				t.Fatalf("got %v, kept in %q, left %v: want no space, and nothing kept", err, kept, there == nil)
			}
		}
		want := written(3)
		if err != nil {
			want = written(2)
		}
		want["ballast"] = listing(t, dir)["ballast"]
		checkFolder(t, fmt.Sprint(err), dir, want)
		if err := os.RemoveAll(filepath.Join(dir, SupersededFolder)); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d replacements ran out of space, %d did not", failures, successes)
	if failures < 20 || successes < 1 {
		t.Errorf("%d failures and %d successes: the test shows too little", failures, successes)
	}
}

// The names run out one sooner each time, so that every new file fails once: journal, new contents, second names.
func TestNoMoreNames(t *testing.T) {
	failures := 0
	for names := 15; names >= 5; names-- {
		dir := small(t, fmt.Sprintf("size=1m,nr_inodes=%d", names))
		for _, f := range generation(dir, 1) {
			if f.Data == nil {
				continue
			}
			if err := os.WriteFile(f.Path, f.Data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if unharmed(t, dir, "") != nil {
			failures++
		}
	}
	t.Logf("%d replacements ran out of names", failures)
	if failures < 3 {
		t.Errorf("%d failures: the test shows too little", failures)
	}
}

// A folder that cannot be written keeps its set, and the error says why.
func TestReadOnlyFileSystem(t *testing.T) {
	dir := small(t, "size=1m")
	if err := Replace(generation(dir, 1)); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount("", dir, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Skipf("cannot be made read-only here: %v", err)
	}
	err := Replace(generation(dir, 2))
	if !errors.Is(err, syscall.EROFS) {
		t.Errorf("got %v, want an error that says the file system is read-only", err)
	}
	if diff := cmp.Diff(listing(t, dir), written(1)); diff != "" {
		t.Errorf("-got +want:\n%.2000s", diff)
	}
}
