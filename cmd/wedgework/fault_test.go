package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/fileset"
	"wedgework/reports/job"
	"wedgework/reports/notebook"
	"wedgework/reports/regenerate"
)

// standing makes a folder with a notebook and a report that is signed, and returns the job of the report that is to
// take its place.
func standing(t *testing.T) (folder string, next *regenerate.Task) {
	t.Helper()
	folder = t.TempDir()
	nb := &notebook.Notebook{Minor: 4, Cells: []notebook.Cell{
		{Type: notebook.CodeCell, Source: "report(title=\"Core\")\nprint(given(\"x\", 1))"},
	}}
	data, err := nb.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(folder, "n.ipynb"), string(data))
	out := filepath.Join(folder, "out")
	if err := os.Mkdir(out, 0o777); err != nil {
		t.Fatal(err)
	}
	task := func(x string) *regenerate.Task {
		return &regenerate.Task{Job: job.Job{
			Notebook: job.File{Path: filepath.Join(folder, "n.ipynb")},
			Output:   job.Text{Text: filepath.Join(out, "r.pdf")},
			Settings: []job.Setting{{Name: "x", Expression: x}}, Number: job.Text{Text: "QR-1"},
		}}
	}
	if _, err := makeReport(context.Background(), task("2")); err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(out, "r.pdf.approved.sig"), "a signature")
	return folder, task("3")
}

func put(t *testing.T, path, content string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
}

// set reads the files of a folder that are not hidden and no folders.
func set(t *testing.T, folder string) map[string]string {
	t.Helper()
	all := map[string]string{}
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.IsDir() || strings.HasPrefix(e.Name(), ".") {
			continue
		}
		data, err := os.ReadFile(filepath.Join(folder, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		all[e.Name()] = string(data)
	}
	return all
}

// TestReportWhenCallsFail: whichever call of the operating system fails while a report takes the place of a signed one,
// the old set stands or the new one, whole, and the signed one is never lost. With WEDGEWORK_SOAK also for good.
func TestReportWhenCallsFail(t *testing.T) {
	folder, task := standing(t)
	old := set(t, filepath.Join(folder, "out"))
	calls := 0
	end := fileset.Inject(func(string, string) error { calls++; return nil })
	if _, err := makeReport(context.Background(), task); err != nil {
		t.Fatal(err)
	}
	end()
	next := set(t, filepath.Join(folder, "out"))
	if calls < 40 || next["r.pdf"] == old["r.pdf"] || next["r.pdf.approved.sig"] != "" {
		t.Fatalf("%d calls: the test shows too little", calls)
	}
	modes := []bool{false}
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		modes = []bool{false, true}
	}
	failures := 0
	for at := range calls {
		for _, forGood := range modes {
			folder, task := standing(t)
			out := filepath.Join(folder, "out")
			n, failed := -1, ""
			end := fileset.Inject(func(call, path string) error {
				if n++; n == at || forGood && n > at {
					failed = call + " " + filepath.Base(path)
					return syscall.ENOSPC
				}
				return nil
			})
			_, err := makeReport(context.Background(), task)
			end()
			if _, err := fileset.Settle(out); err != nil {
				t.Fatal(err)
			}
			want := next
			if err != nil {
				want = old
				failures++
			}
			if d := cmp.Diff(want, set(t, out)); d != "" {
				t.Fatalf("after %s failed (%v) (-want +got):\n%.2000s", failed, err, d)
			}
			if err == nil {
				if d := cmp.Diff(old, set(t, filepath.Join(out, "superseded", "r-QR-1"))); d != "" {
					t.Fatalf("kept after %s failed (-want +got):\n%.2000s", failed, d)
				}
			}
		}
	}
	t.Logf("%d calls, %d failed", calls, failures)
}

// TestReportUnderStrace is the same from outside: strace makes the program's own calls fail, one kind and position at a
// time. With WEDGEWORK_SOAK all positions.
func TestReportUnderStrace(t *testing.T) {
	tool, err := exec.LookPath("strace")
	if err != nil || runtime.GOOS != "linux" {
		t.Skip("strace is not installed")
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	bin := filepath.Join(t.TempDir(), "wedgework") // as testscript.Main starts the program
	if err := os.Symlink(self, bin); err != nil {
		t.Fatal(err)
	}
	folder, task := standing(t)
	old := set(t, filepath.Join(folder, "out"))
	if _, err := makeReport(context.Background(), task); err != nil {
		t.Fatal(err)
	}
	next := set(t, filepath.Join(folder, "out"))
	positions := map[string][]int{"fsync": {2, 5}, "renameat": {2, 4}, "linkat": {3}}
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		positions = map[string][]int{"openat": upTo(60), "fsync": upTo(16), "renameat": upTo(6), "linkat": upTo(10),
			"unlinkat": upTo(14), "write": upTo(16), "close": upTo(40), "mmap": upTo(60)}
	}
	done := map[bool]int{}
	for call, all := range positions {
		for _, at := range all {
			folder, _ := standing(t)
			c := exec.Command(tool, "-f", "-qq", "-o", "/dev/null", "-e", fmt.Sprintf("inject=%s:error=ENOMEM:when=%d",
				call,
				at),
				bin, "report", "n.ipynb", "--set", "x=3", "--number", "QR-1", "--out", "out/r.pdf")
			c.Dir = folder
			said, err := c.CombinedOutput()
			if bytes.Contains(said, []byte("ptrace")) {
				t.Skipf("strace cannot trace here: %s", said)
			}
			out := filepath.Join(folder, "out")
			if _, err := fileset.Settle(out); err != nil {
				t.Fatal(err)
			}
			got := set(t, out)
			done[err == nil]++
			if cmp.Equal(got, old) && err != nil || cmp.Equal(got, next) {
				continue
			}
			t.Errorf("%s number %d: neither the old set nor the new one stands: %v\n%.500s", call, at, err, said)
		}
	}
	t.Logf("%d runs went well, %d failed", done[true], done[false])
}

func upTo(n int) []int {
	var all []int
	for i := range n {
		all = append(all, i+1)
	}
	return all
}
