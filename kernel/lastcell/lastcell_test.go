package lastcell

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"wedgework/reports/memory"
)

// A process that comes to an end is this test binary again, told how.
const endEnv = "WEDGEWORK_LASTCELL_END"

func TestMain(m *testing.M) {
	if how := os.Getenv(endEnv); how != "" {
		end(how, os.Getenv("WEDGEWORK_LASTCELL_FILE"))
		os.Exit(0)
	}
	os.Exit(m.Run())
}

var sink []byte

func end(how, path string) {
	r, notice, err := Open(path)
	fmt.Print(notice)
	if err != nil {
		fmt.Print(err)
		os.Exit(3)
	}
	r.Begin(6, strings.Repeat("\x01 longer than what comes after it", 100))
	r.End()
	switch how {
	case "between":
		os.Exit(3)
	case "order":
		r.Close()
		return
	case "ask":
		return
	}
	if how == "memory" {
		if err := memory.Standard(); err != nil {
			panic(err)
		}
	}
	r.Begin(7, "x = [0]\nlist(x)\n")
	switch how {
	case "killed":
		p, _ := os.FindProcess(os.Getpid())
		p.Kill()
		time.Sleep(time.Minute)
	case "memory":
		for n := 1 << 28; ; n *= 2 {
			sink = make([]byte, n)
		}
	case "stack":
		debug.SetMaxStack(1 << 20)
		var f func(int) int
		f = func(i int) int { return f(i+1) + 1 }
		f(0)
	case "panic":
		panic("no such mode")
	}
}

// The next process tells how the one before ended.
func TestEnds(t *testing.T) {
	const cell = " All names are lost; rerun the cells you need. The cell:\n    x = [0]\n    list(x)\n"
	for how, want := range map[string]string{
		"between": "",
		"order":   "",
		"killed": "The kernel was restarted: it stopped while cell 7 was running, killed from outside or for an " +
			"unknown reason." + cell,
		"memory": "The kernel was restarted: it stopped while cell 7 was running, because it needed more memory than " +
			"the limit of LIMIT MiB." + cell,
		"stack": "The kernel was restarted: it stopped while cell 7 was running, because its calls were nested too " +
			"deeply." + cell,
		"panic": "The kernel was restarted: it stopped while cell 7 was running, because of a fault of the program: " +
			"no such mode." + cell,
	} {
		t.Run(how, func(t *testing.T) {
			if how == "memory" {
				if raceDetector {
					t.Skip("the race detector's own memory runs into the limit, and it ends the process without a " +
						"trace")
				}
				if memory.Standard(); memory.InForce() == 0 {
					t.Skip("this system has no such limit")
				}
				want = strings.Replace(want, "LIMIT", fmt.Sprint(memory.InForce()>>20), 1)
			}
			path := filepath.Join(t.TempDir(), "running", "one")
			if out := run(how, path); how != "order" && strings.Contains(out, "anew") {
				t.Errorf("the first process says %q", out)
			}
			if _, err := os.Stat(path); (err == nil) == (how == "order") {
				t.Errorf("the file: %v", err)
			}
			if got := run("ask", path); got != want {
				t.Errorf("the next says\n%q\nwant\n%q", got, want)
			}
			if got := run("ask", path); got != "" {
				t.Errorf("the one after that says %q", got)
			}
		})
	}
}

// run returns what a process prints before its end.
func run(how, path string) string {
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	// The race detector sleeps for a second before it lets a process exit, unless told not to.
	cmd.Env = append(os.Environ(), endEnv+"="+how, "WEDGEWORK_LASTCELL_FILE="+path,
		"GORACE=atexit_sleep_ms=0 "+os.Getenv("GORACE"))
	out, _ := cmd.Output()
	return string(out)
}

func TestOldFilesGo(t *testing.T) {
	dir := t.TempDir()
	for name, age := range map[string]time.Duration{"old": old + time.Hour, "young": time.Hour} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
		then := time.Now().Add(-age)
		if err := os.Chtimes(path, then, then); err != nil {
			t.Fatal(err)
		}
	}
	r, notice, err := Open(filepath.Join(dir, "mine"))
	if err != nil {
		t.Fatal(err)
	}
	if notice != "" {
		t.Errorf("notice %q, want none", notice)
	}
	if err := r.Close(); err != nil {
		t.Error(err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 1 || entries[0].Name() != "young" {
		t.Errorf("left are %v (%v), want young", entries, err)
	}
}

func TestLongCell(t *testing.T) {
	if line, err := json.Marshal(cell{math.MaxInt, head(strings.Repeat("\x01", 1000)), math.MaxInt64}); err != nil ||
		len(line) >= room {
		t.Errorf("a line of %d bytes (%v), want less than %d", len(line), err, room)
	}
	if got := head("  " + strings.Repeat("é", 1000)); len([]rune(got)) != 204 || !strings.HasSuffix(got, "é ...") {
		t.Errorf("got %d characters", len([]rune(got)))
	}
}
