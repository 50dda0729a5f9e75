package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// used is the time of processors that this process has taken.
func used(t *testing.T) time.Duration {
	t.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// TestInterruptWhileReading: an interruption ends a cell within 0.2 s while a file of 200 MB is read, hashed or taken
// apart. The 0.2 s are of processors, for the machine may have other things to do; by the clock it may take ten times
// as long. The file is a hole, which takes no room on the disk and is read all the same.
func TestInterruptWhileReading(t *testing.T) {
	t.Chdir(t.TempDir())
	for name, size := range map[string]int64{"big.csv": 200 << 20, "big.star": 200 << 20} {
		if err := os.WriteFile(name, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Truncate(name, size); err != nil {
			t.Fatal(err)
		}
	}
	interrupted := 0
	for _, c := range [][]string{
		{"eval", `measured("sweep", default="big.csv")`},
		{"eval", `rows("big.csv")`},
		{"eval", `load("big.star", "a")`},
		{"eval", `measured("sweep")`, "--data", "sweep=big.csv"},
	} {
		for _, after := range []time.Duration{20 * time.Millisecond, 60 * time.Millisecond, 200 * time.Millisecond} {
			ctx, cancel := context.WithCancel(t.Context())
			var at time.Time
			var before time.Duration
			time.AfterFunc(after, func() {
				at, before = time.Now(), used(t)
				cancel()
			})
			var out, errs bytes.Buffer
			status := run(ctx, c, strings.NewReader(""), &out, &errs)
			cancel()
			if at.IsZero() { // a quick machine refuses the file sooner
				continue
			}
			interrupted++
			took, work := time.Since(at), used(t)-before
			t.Logf("%s: interrupted after %v, ended %v later with %v of work: %d", c, after, took, work, status)
			if status == 0 || took > 2*time.Second || work > 200*time.Millisecond {
				t.Errorf("%s: status %d, %v by the clock, %v of work after the interruption; want 0.2 s: %s", c, status,
					took, work, errs.String())
			}
		}
	}
	if interrupted < 6 {
		t.Errorf("%d of 12 runs were interrupted: too few to tell", interrupted)
	}
}

// bookOf is a notebook of one cell.
func bookOf(source string) string {
	text, _ := json.Marshal(source)
	return `{"cells":[{"cell_type":"code","execution_count":null,"metadata":{},"outputs":[],"source":` + string(text) +
		`}],"metadata":{"kernelspec":{"display_name":"Wedgework","language":"wedgework","name":"wedgework"}},` +
		`"nbformat":4,"nbformat_minor":4}`
}

// TestTimeWhileReading: --time ends a report that reads a file of 200 MB, as an interruption does.
func TestTimeWhileReading(t *testing.T) {
	t.Chdir(t.TempDir())
	err := errors.Join(os.WriteFile("big.csv", nil, 0o600), os.Truncate("big.csv", 200<<20),
		os.WriteFile("book.ipynb", []byte(bookOf(`measured("sweep", default="big.csv")`)), 0o600))
	if err != nil {
		t.Fatal(err)
	}
	const most = 150 * time.Millisecond
	before, at := used(t), time.Now()
	var out, errs bytes.Buffer
	status := run(t.Context(), []string{"report", "book.ipynb", "--out", "a.pdf", "--time", most.String()},
		strings.NewReader(""), &out, &errs)
	work, took := used(t)-before, time.Since(at)
	t.Logf("%v by the clock, %v of work: %s", took, work, errs.String())
	if status == 0 || work > most+200*time.Millisecond || took > most+2*time.Second ||
		!strings.Contains(errs.String(), "time") {
		t.Errorf("status %d after %v by the clock and %v of work, want a failure for want of time within 0.2 s: %s",
			status, took, work, errs.String())
	}
}

// TestFilesThatAreNone: wherever a file is named that is read, a named pipe, a device or a folder is refused before
// anything is read, for a pipe may never end.
func TestFilesThatAreNone(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := syscall.Mkfifo("pipe", 0o600); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"pipe.star", "pipe.csv", "pipe.toml", "pipe.ttf", "pipe.json", "pipe.pdf", "pipe.ipynb",
		"pipe.png", filepath.Join("folder", "index-values.csv")} {
		if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.Link("pipe", name); err != nil {
			t.Fatal(err)
		}
	}
	files := map[string]string{
		"plan.toml": "[[report]]\nnotebook = \"book.ipynb\"\noutput = \"out.pdf\"\nfonts = [\"pipe.ttf\"]\n" +
			"data.sweep = \"pipe.csv\"\n",
		"book.ipynb": bookOf(`measured("sweep", default="pipe.csv")`),
	}
	for name, text := range files {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range [][]string{
		{"eval", `load("pipe.star", "a")`},
		{"eval", `rows("pipe.csv")`},
		{"eval", `measured("s", default="pipe.csv")`},
		{"eval", `records("folder")`},
		{"eval", "pipe.star"},
		{"eval", `measured("s")`, "--data", "s=pipe.csv"},
		{"report", "book.ipynb", "--out", "a.pdf"},
		{"report", "pipe.ipynb", "--out", "a.pdf"},
		{"report", "book.ipynb", "--out", "a.pdf", "--font", "pipe.ttf"},
		{"report", "book.ipynb", "--out", "a.pdf", "--sign", "pipe"},
		{"reproduce", "pipe.pdf"},
		{"compare", "pipe.json", "pipe.json"},
		{"regenerate", "pipe.toml"},
		{"regenerate", "plan.toml"},
		{"doctor", "pipe.toml"},
		{"doctor", "plan.toml"},
		{"check", "pipe.json"},
		{"kernel", "run", "pipe.json"},
	} {
		done := make(chan struct{})
		var out, errs bytes.Buffer
		var status int
		go func() {
			status = run(t.Context(), c, strings.NewReader(""), &out, &errs)
			close(done)
		}()
		select {
		case <-done:
		case <-time.After(60 * time.Second):
			t.Fatalf("%s: hangs", c)
		}
		said := out.String() + errs.String()
		t.Logf("%s: %d %s", c, status, said)
		if status == 0 || !strings.Contains(said, "a pipe, expected a regular file") {
			t.Errorf("%s: status %d, said %q, want the pipe to be refused", c, status, said)
		}
	}
}

// endless is standard input that never ends, and slow one that says nothing.
type endless struct{ read int64 }

func (e *endless) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = '\n'
	}
	e.read += int64(len(b))
	return len(b), nil
}

type silent struct{}

func (silent) Read([]byte) (int, error) { select {} }

// TestStandardInput: eval reads no more of standard input than a cell may have, and an interruption ends the waiting.
func TestStandardInput(t *testing.T) {
	var out, errs bytes.Buffer
	in := &endless{}
	if status := run(t.Context(), []string{"eval", "-"}, in, &out, &errs); status == 0 || in.read > 4<<20 ||
		!strings.Contains(errs.String(), "standard input: found more than 1 MiB, expected a cell") {
		t.Errorf("status %d after %d bytes: %s", status, in.read, errs.String())
	}
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	at := time.Now()
	if status := run(ctx, []string{"eval", "-"}, silent{}, &out, &errs); status == 0 || time.Since(at) > 2*time.Second {
		t.Errorf("status %d after %v", status, time.Since(at))
	}
}
