package main

import (
	"bytes"
	"compress/zlib"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"strings"
	"syscall"
	"testing"
)

// A file of half a megabyte may ask for any work: it is refused within 300 MB of memory, and within the time of a
// command that reads it.
func TestReproduceSmallFilesThatGrow(t *testing.T) {
	const many = 200_000
	var packed bytes.Buffer
	z := zlib.NewWriter(&packed)
	z.Write(make([]byte, 20<<20))
	z.Close()
	twenty := fmt.Sprintf("<</Filter /FlateDecode /Length %d>>\nstream\n%s\nendstream", packed.Len(), packed.String())
	long := "(" + strings.Repeat("a", 20<<20) + ")"
	var one, each strings.Builder
	for i := range many {
		fmt.Fprintf(&one, "(%d) 3 0 R ", i)
		fmt.Fprintf(&each, "(%d) <</UF 3 0 R /EF <</F 4 0 R>>>> ", i)
	}
	bombs := []string{""}
	var names strings.Builder
	for i := range 40 {
		fmt.Fprintf(&names, "(%d) <</UF (%[1]d) /EF <</F %d 0 R>>>> ", i, i+3)
		bombs = append(bombs, twenty)
	}
	bombs[0] = "<</Names [" + names.String() + "]>>"
	for name, objects := range map[string][]string{
		"names of one attachment":        {"<</Names [" + one.String() + "]>>", "<</UF (a) /EF <</F 4 0 R>>>>", twenty},
		"attachments of one content":     {"<</Names [" + each.String() + "]>>", "(a)", twenty},
		"attachments of one long string": {"<</Names [" + each.String() + "]>>", long, twenty},
		"attachments of 20 MB each":      bombs,
	} {
		path := filepath.Join(t.TempDir(), "hostile.pdf")
		if err := os.WriteFile(path, hostile(objects), 0o666); err != nil {
			t.Fatal(err)
		}
		forgetPeak(t)
		c := exec.Command("wedgework", "reproduce", path)
		out, err := c.CombinedOutput()
		var ended *exec.ExitError
		if !errors.As(err, &ended) || ended.ExitCode() != failed {
			t.Errorf("%s: %v, want exit status %d\n%.300s", name, err, failed, out)
			continue
		}
		const most = 300 << 10 // kB
		if used := c.ProcessState.SysUsage().(*syscall.Rusage).Maxrss; used > most {
			t.Errorf("%s: %d kB of memory, want at most %d", name, used, most)
		}
	}
}

// forgetPeak makes the peak of this process's memory what it holds now. A process that it starts takes over that peak
// (vfork shares the memory until the program is replaced), and other tests here read files of 200 MB.
func forgetPeak(t *testing.T) {
	t.Helper()
	debug.FreeOSMemory()
	if err := os.WriteFile("/proc/self/clear_refs", []byte("5"), 0); err != nil { // proc(5): resets the peak
		t.Logf("peaks of memory include this process's own: %v", err)
	}
}

// hostile is a file whose attachments are the objects given, the second and those after it.
func hostile(objects []string) []byte {
	objects = append([]string{"<</Names <</EmbeddedFiles 2 0 R>>>>"}, objects...)
	b := []byte("%PDF-1.7\n")
	table := fmt.Sprintf("xref\n0 %d\n0000000000 65535 f \n", len(objects)+1)
	for i, o := range objects {
		table += fmt.Sprintf("%010d 00000 n \n", len(b))
		b = fmt.Appendf(b, "%d 0 obj\n%s\nendobj\n", i+1, o)
	}
	at := len(b)
	return fmt.Appendf(b, "%strailer\n<</Root 1 0 R>>\nstartxref\n%d\n%%%%EOF\n", table, at)
}

// What does not look at its context is left behind when that ends.
func TestAwait(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	begun, never := make(chan bool), make(chan bool)
	go func() { <-begun; stop() }()
	if _, err := await(ctx, func() (int, error) {
		close(begun)
		<-never
		return 1, nil
	}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want an error of the context", err)
	}
	if n, err := await(context.Background(), func() (int, error) { return 7, nil }); n != 7 || err != nil {
		t.Errorf("got %d, %v, want 7", n, err)
	}
}
