package fileset

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/require"
)

// counting lets all calls through and counts them.
func counting(n *int) Fault {
	return func(string, string) error { *n++; return nil }
}

// from makes the call of a number fail, and those after it too when it is for good.
func from(at int, forGood bool, failed *string) Fault {
	n := -1
	return func(call, path string) error {
		if n++; n == at || forGood && n > at {
			if *failed == "" {
				*failed = call + " " + filepath.Base(path)
			}
			return syscall.EIO
		}
		return nil
	}
}

// TestEveryCallFails: whichever call of the operating system fails, once or from then on for good, the old set is there
// or the new one, as the error says; what is kept is the old one.
func TestEveryCallFails(t *testing.T) {
	for _, before := range []bool{true, false} {
		setUp := func() (dir string, k Keep) {
			dir = t.TempDir()
			if !before {
				return dir, k
			}
			if err := Replace(generation(dir, 2)); err != nil {
				t.Fatal(err)
			}
			k.Folder = filepath.Join(dir, "superseded", "r-1")
			for _, f := range generation(dir, 2) {
				k.Paths = append(k.Paths, f.Path)
			}
			return dir, k
		}
		calls := 0
		dir, k := setUp()
		end := Inject(counting(&calls))
		if _, err := ReplaceKeeping(generation(dir, 3), k, nil); err != nil {
			t.Fatal(err)
		}
		end()
		if calls < 20 {
			t.Errorf("%d calls were seen: the test shows too little", calls)
		}
		failures := 0
		for at := 0; at < calls; at += require.Sample(3, 1) {
			for _, forGood := range []bool{false, true} {
				dir, k := setUp()
				failed := ""
				end := Inject(from(at, forGood, &failed))
				kept, err := ReplaceKeeping(generation(dir, 3), k, nil)
				end()
				if _, err := Settle(dir); err != nil { // as the next run does
					t.Fatalf("%s: %v", failed, err)
				}
				want := map[string]string{}
				switch {
				case err == nil:
					want = written(3)
				case before:
					want = written(2)
				}
				if err != nil {
					failures++
				}
				checkFolder(t, failed, dir, want)
				if before {
					checkKept(t, failed, k, kept, err == nil)
				}
			}
		}
		t.Logf("of %d positions, each once and for good, %d failed", calls, failures)
	}
}

// checkFolder compares the files of a folder.
func checkFolder(t *testing.T, failed, dir string, want map[string]string) {
	t.Helper()
	got := listing(t, dir)
	delete(got, "superseded")
	if d := cmp.Diff(want, got); d != "" {
		t.Fatalf("after %s (-want +got):\n%.1000s", failed, d)
	}
}

// checkKept compares what was kept with what was there before. Where the replacement failed, nothing is kept; where
// nothing could be taken back either, a part of it may be left.
func checkKept(t *testing.T, failed string, k Keep, kept string, done bool) {
	t.Helper()
	if done {
		if d := cmp.Diff(written(2), listing(t, kept)); d != "" {
			t.Fatalf("kept after %s (-want +got):\n%.1000s", failed, d)
		}
		return
	}
	if _, err := os.Lstat(k.Folder); kept != "" || err == nil {
		left := listing(t, k.Folder)
		for name, content := range left {
			if content != written(2)[name] && content != "" {
				t.Fatalf("after %s, %s was left in %s and is not that of before", failed, name, k.Folder)
			}
		}
	}
}

// TestKeep: a folder that holds others is left alone, what a run that was cut short has kept is taken as it is, and a
// folder that is a link is not followed.
func TestKeep(t *testing.T) {
	dir := t.TempDir()
	if err := Replace(targets(dir, "old")); err != nil {
		t.Fatal(err)
	}
	k := Keep{Folder: filepath.Join(dir, "superseded", "r")}
	for _, f := range targets(dir, "") {
		k.Paths = append(k.Paths, f.Path)
	}
	if err := os.MkdirAll(k.Folder, 0o777); err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(k.Folder, "r.pdf"), "another")
	kept, err := ReplaceKeeping(targets(dir, "new"), k, nil)
	if err != nil || kept != k.Folder+"-2" {
		t.Fatalf("kept in %s, %v", kept, err)
	}
	if d := cmp.Diff(set("old"), listing(t, kept)); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	// A part of it is there already, as a run that was killed leaves it.
	k.Folder = filepath.Join(dir, "superseded", "s")
	if err := os.Mkdir(k.Folder, 0o777); err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(k.Folder, "r.json"), "new r.json")
	if kept, err := ReplaceKeeping(targets(dir, "newer"), k, nil); err != nil || kept != k.Folder {
		t.Fatalf("kept in %s, %v", kept, err)
	}
	if d := cmp.Diff(set("new"), listing(t, k.Folder)); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	elsewhere := t.TempDir()
	link := filepath.Join(t.TempDir(), "superseded")
	if err := os.Symlink(elsewhere, link); err != nil {
		t.Skip(err)
	}
	k.Folder = filepath.Join(link, "t")
	if _, err := ReplaceKeeping(targets(dir, "newest"), k, nil); err == nil {
		t.Error("a folder that is a link was followed")
	}
	checkFolder(t, "a link", dir, set("newer"))
}

// TestChangedMeanwhile: what was signed while its successor was being made is not replaced.
func TestChangedMeanwhile(t *testing.T) {
	dir := t.TempDir()
	if err := Replace(targets(dir, "old")); err != nil {
		t.Fatal(err)
	}
	sig := filepath.Join(dir, "r.pdf.sig")
	seen := map[string]string{sig: ""}
	put(t, sig, "signed")
	if _, err := ReplaceKeeping(targets(dir, "new"), Keep{}, seen); err == nil {
		t.Error("a report that was signed meanwhile was replaced")
	}
	want := set("old")
	want["r.pdf.sig"] = "signed"
	checkFolder(t, "a signature", dir, want)
}
