package regenerate

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/files"
	"wedgework/reports/job"
)

// TestMain makes this program a worker when a test starts it as one.
func TestMain(m *testing.M) {
	if os.Getenv("WEDGEWORK_TEST_WORKER") != "" {
		if err := Work(os.Stdin, os.Stdout, Maker{Make: fakeReport, Look: look}); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	if folder := os.Getenv("WEDGEWORK_TEST_PLAN"); folder != "" {
		runPlan(folder)
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// fakeReport writes the data into the files of the report. What the data says, it does.
func fakeReport(ctx context.Context, task *Task) (Made, error) {
	j := &task.Job
	text := j.Settings[0].Expression
	for _, f := range j.Data[0].Files {
		data, err := os.ReadFile(f.Path)
		if err != nil {
			return Made{}, err
		}
		text += string(data)
	}
	if task.Check && strings.Contains(text, "same figures") {
		return Made{Valid: "2"}, nil
	}
	made := Made{Status: AllPass, Written: outputs(j)}
	switch {
	case strings.Contains(text, "eat memory"):
		eaten = make([]byte, 0)
		for {
			eaten = append(eaten, make([]byte, 16<<20)...)
		}
	case strings.Contains(text, "crash"):
		var nothing *Task
		go func() { nothing.Line++ }()
		select {}
	case strings.Contains(text, "hang deaf"):
		select {}
	case strings.Contains(text, "hang"):
		<-ctx.Done()
		return Made{}, fmt.Errorf("cell 3: %w", ctx.Err())
	case strings.Contains(text, "bad"):
		return Made{}, errors.New("line 4, column 2: found bad, expected good")
	case strings.Contains(text, "fail"):
		made.Status = SomeFail
	case strings.Contains(text, "count"):
		made.Summary = fmt.Sprintf("on %d, %s", runtime.GOMAXPROCS(0), os.Getenv("GODEBUG"))
		if strings.Contains(text, "together") {
			ready := j.Data[0].Files[0].Path + ".ready"
			if err := os.WriteFile(ready, nil, 0o666); err != nil {
				return Made{}, err
			}
			for both := []string{}; len(both) < 2; time.Sleep(time.Millisecond) {
				both, _ = filepath.Glob(filepath.Join(filepath.Dir(ready), "*.ready"))
			}
		}
	}
	if own := filepath.Join(filepath.Dir(j.Notebook.Path), "own.csv"); strings.Contains(text, "read own") {
		sum, err := files.Hash(own)
		if err != nil {
			return Made{}, err
		}
		made.Read = []Hash{{own, sum}}
	}
	for _, f := range outputs(j) {
		if err := os.WriteFile(f, []byte(text), 0o666); err != nil {
			return Made{}, err
		}
	}
	return made, nil
}

// outputs are the files of a report.
func outputs(j *job.Job) []string {
	stem := strings.TrimSuffix(j.Output.Text, ".pdf")
	return []string{stem + ".ipynb", stem + ".json", stem + ".html", j.Output.Text}
}

var eaten []byte

var identity = Identity{Program: "p1", Constants: "c1"}

// regenerated runs a plan and returns a line a report: its name, its status, why it was made or why not.
func regenerated(t *testing.T, folder string, o Options) []string {
	t.Helper()
	all, err := attempt(context.Background(), folder, o)
	if err != nil {
		t.Fatal(err)
	}
	return said(all)
}

func said(all []Outcome) []string {
	var lines []string
	for _, o := range all {
		what := "fresh"
		if o.Why != "" {
			what = o.Why
		}
		if o.Valid != "" {
			what += ", valid under " + o.Valid
		}
		if o.Older {
			what = "of another program"
		}
		if o.Error != "" {
			what = "not made: " + o.Error
		}
		lines = append(lines, fmt.Sprintf("%s %d %s", filepath.Base(o.Task.Output.Text), o.Status, what))
	}
	return lines
}

func attempt(ctx context.Context, folder string, o Options) ([]Outcome, error) {
	path := filepath.Join(folder, "plan.toml")
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	p, err := ReadPlan(path, text)
	if err != nil {
		return nil, err
	}
	if o.Identity == (Identity{}) {
		o.Identity = identity
	}
	o.Command = func() *exec.Cmd {
		c := exec.Command(os.Args[0])
		c.Env = append(os.Environ(), "WEDGEWORK_TEST_PLAN=", "WEDGEWORK_TEST_WORKER=1")
		return c
	}
	return Run(ctx, p, o)
}

const plan = `time = "1s"
remake = "always"
[[report]]
notebook = "n.ipynb"
output = "out/{unit}.pdf"
data.sweep = "in/{unit}.csv"
set.x = "1 "
`

// TestShares: a report that is made alone has all processors, two that are made side by side share them, and GODEBUG
// keeps what it asks for.
func TestShares(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(7))
	t.Setenv("GODEBUG", "asyncpreemptoff=0")
	for text, want := range map[string]string{"count alone": "7, 7", "count together": "7, 4"} {
		folder := put(t, map[string]string{"plan.toml": strings.Replace(plan, "1s", "60s", 1), "n.ipynb": "n",
			"in/a.csv": text, "in/b.csv": text})
		workers := map[string]int{"count alone": 1, "count together": 2}[text]
		all, err := attempt(context.Background(), folder, Options{Workers: workers})
		if err != nil {
			t.Fatal(err)
		}
		var on []string
		for _, o := range all {
			n, rest, _ := strings.Cut(strings.TrimPrefix(o.Says, "on "), ", ")
			if on = append(on, n); rest != "madvdontneed=0,asyncpreemptoff=0" {
				t.Errorf("%s: GODEBUG is %s (%s)", text, rest, o.Error)
			}
		}
		slices.Sort(on)
		slices.Reverse(on)
		if got := strings.Join(on, ", "); got != want {
			t.Errorf("%s: on %s processors, want %s", text, got, want)
		}
	}
}

func write(t testing.TB, folder, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

// TestOnlyWhatChanged: a second run makes nothing; then each kind of change makes what depends on it, and says why.
func TestOnlyWhatChanged(t *testing.T) {
	folder := put(t, map[string]string{"plan.toml": plan, "n.ipynb": "n", "own.csv": "1", "in/a.csv": "a",
		"in/b.csv": "fail", "in/c.csv": "read own"})
	expect := func(what string, o Options, want ...string) {
		t.Helper()
		if d := cmp.Diff(want, regenerated(t, folder, o)); d != "" {
			t.Errorf("%s (-want +got):\n%s", what, d)
		}
	}
	fresh := []string{"a.pdf 0 fresh", "b.pdf 1 fresh", "c.pdf 0 fresh"}
	expect("first", Options{}, "a.pdf 0 new", "b.pdf 1 new", "c.pdf 0 new")
	expect("second", Options{}, fresh...)
	write(t, folder, "in/a.csv", "A")
	expect("data", Options{}, "a.pdf 0 the data changed", "b.pdf 1 fresh", "c.pdf 0 fresh")
	write(t, folder, "own.csv", "2")
	expect("read by the notebook", Options{}, "a.pdf 0 fresh", "b.pdf 1 fresh",
		"c.pdf 0 own.csv, which the notebook reads, changed")
	write(t, folder, "out/b.json", "touched")
	expect("a file of the report", Options{}, "a.pdf 0 fresh", "b.pdf 1 b.json is not the file that was written",
		"c.pdf 0 fresh")
	if err := os.Remove(filepath.Join(folder, "out/a.pdf")); err != nil {
		t.Fatal(err)
	}
	expect("a missing report", Options{}, "a.pdf 0 a.pdf is not the file that was written", "b.pdf 1 fresh",
		"c.pdf 0 fresh")
	write(t, folder, "n.ipynb", "m")
	expect("notebook", Options{}, "a.pdf 0 the notebook changed", "b.pdf 1 the notebook changed",
		"c.pdf 0 the notebook changed")
	write(t, folder, "plan.toml", strings.Replace(plan, `"1 "`, `"2 "`, 1))
	expect("setting", Options{}, "a.pdf 0 a setting changed", "b.pdf 1 a setting changed", "c.pdf 0 a setting changed")
	other := Identity{Program: "p2", Constants: "c1"}
	expect("program", Options{Identity: other}, "a.pdf 0 the program changed", "b.pdf 1 the program changed",
		"c.pdf 0 the program changed")
	constants := Identity{Program: "p2", Constants: "c2"}
	expect("constants", Options{Identity: constants}, "a.pdf 0 a constant of a material changed",
		"b.pdf 1 a constant of a material changed", "c.pdf 0 a constant of a material changed")
	expect("all fresh again", Options{Identity: constants}, fresh...)
	expect("force", Options{Identity: constants, Force: true}, "a.pdf 0 asked for", "b.pdf 1 asked for",
		"c.pdf 0 asked for")
	// The ledger holds paths that go with the tree.
	moved := filepath.Join(t.TempDir(), "moved")
	if err := os.Rename(folder, moved); err != nil {
		t.Fatal(err)
	}
	folder = moved
	expect("moved", Options{Identity: constants}, fresh...)
}

// TestRemake: what a change of the program, or of its constants, does to reports whose inputs are the same.
func TestRemake(t *testing.T) {
	for _, c := range []struct {
		mode string
		want []string
	}{
		{"inputs", []string{"a.pdf 0 of another program", "b.pdf 1 of another program"}},
		{"figures", []string{"a.pdf 0 the program changed, valid under 2", "b.pdf 1 the program changed"}},
		{"always", []string{"a.pdf 0 the program changed", "b.pdf 1 the program changed"}},
	} {
		folder := put(t, map[string]string{"plan.toml": strings.Replace(plan, "always", c.mode, 1), "n.ipynb": "n",
			"in/a.csv": "same figures", "in/b.csv": "fail"})
		regenerated(t, folder, Options{})
		before, err := os.Stat(filepath.Join(folder, "out/a.pdf"))
		if err != nil {
			t.Fatal(err)
		}
		other := Options{Identity: Identity{Program: "p2", Constants: "c2"}}
		if d := cmp.Diff(c.want, regenerated(t, folder, other)); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.mode, d)
		}
		after, err := os.Stat(filepath.Join(folder, "out/a.pdf"))
		if kept := err == nil && after.ModTime().Equal(before.ModTime()); kept != (c.mode != "always") {
			t.Errorf("%s: the report was written: %v", c.mode, !kept)
		}
		if c.mode == "inputs" {
			continue // it is of another program as long as it stands
		}
		if d := cmp.Diff([]string{"a.pdf 0 fresh", "b.pdf 1 fresh"}, regenerated(t, folder, other)); d != "" {
			t.Errorf("%s, again (-want +got):\n%s", c.mode, d)
		}
		// New data make it again, valid or not.
		write(t, folder, "in/a.csv", "same figures, other data")
		other.Identity.Program = "p3"
		if got := regenerated(t, folder, other); got[0] != "a.pdf 0 the data changed" {
			t.Errorf("%s: other data and another program: %s", c.mode, got[0])
		}
	}
}

// TestOneBadFile: what is wrong with one report leaves the others be, and its own last files as they were.
func TestOneBadFile(t *testing.T) {
	folder := put(t, map[string]string{"plan.toml": plan, "n.ipynb": "n", "in/a.csv": "a", "in/b.csv": "b",
		"in/c.csv": "c", "in/d.csv": "d"})
	regenerated(t, folder, Options{})
	write(t, folder, "in/a.csv", "bad")
	write(t, folder, "in/b.csv", "crash")
	write(t, folder, "in/c.csv", "hang")
	write(t, folder, "in/d.csv", "dd")
	got := regenerated(t, folder, Options{Workers: 1})
	want := []string{
		"a.pdf 2 not made: line 4, column 2: found bad, expected good",
		"b.pdf 2 not made: the process that made it ended: panic: runtime error: invalid memory address or nil " +
			"pointer dereference",
		"c.pdf 2 not made: took longer than the 1s that the plan allows: cell 3: context deadline exceeded",
		"d.pdf 0 the data changed",
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	for unit, text := range map[string]string{"a": "1 a", "b": "1 b", "c": "1 c", "d": "1 dd"} {
		if data, _ := os.ReadFile(filepath.Join(folder, "out", unit+".pdf")); string(data) != text {
			t.Errorf("%s.pdf holds %q, want %q", unit, data, text)
		}
	}
	// What failed is tried again, and the rest is fresh.
	write(t, folder, "in/a.csv", "a")
	write(t, folder, "in/b.csv", "b")
	write(t, folder, "in/c.csv", "c")
	if d := cmp.Diff([]string{"a.pdf 0 fresh", "b.pdf 0 fresh", "c.pdf 0 fresh", "d.pdf 0 fresh"},
		regenerated(t, folder,
			Options{})); d != "" {
		t.Errorf("mended (-want +got):\n%s", d)
	}
}

// TestDeafWorker: a worker that does not stop when its time is over is ended.
func TestDeafWorker(t *testing.T) {
	folder := put(t, map[string]string{"plan.toml": plan, "n.ipynb": "n", "in/a.csv": "hang deaf", "in/b.csv": "b"})
	want := []string{"a.pdf 2 not made: took longer than the 1s that the plan allows", "b.pdf 0 new"}
	if d := cmp.Diff(want, regenerated(t, folder, Options{Workers: 1})); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

func TestMemoryLimit(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("a limit of memory that ends a process is there on Linux only")
	}
	folder := put(t, map[string]string{"plan.toml": "memory = '300 MB'\n" + strings.Replace(plan, `"1s"`, `"1m"`, 1),
		"n.ipynb": "n", "in/a.csv": "eat memory", "in/b.csv": "b"})
	want := []string{"a.pdf 2 not made: took more than the 300 MB of memory that the plan allows", "b.pdf 0 new"}
	if d := cmp.Diff(want, regenerated(t, folder, Options{Workers: 1})); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

// TestInterrupted: an interrupted run keeps what it has done, and the next does the rest.
func TestInterrupted(t *testing.T) {
	folder := put(t, map[string]string{"plan.toml": strings.Replace(plan, `"1s"`, `"1m"`, 1), "n.ipynb": "n",
		"in/a.csv": "a", "in/b.csv": "hang", "in/c.csv": "c"})
	ctx, stop := context.WithCancel(context.Background())
	var once sync.Once
	_, err := attempt(ctx, folder, Options{Workers: 1, Each: func(o Outcome) {
		once.Do(func() { time.AfterFunc(50*time.Millisecond, stop) }) // a is done, b hangs
	}})
	if !errors.Is(err, ErrInterrupted) {
		t.Fatalf("%v, want ErrInterrupted", err)
	}
	write(t, folder, "in/b.csv", "b")
	if d := cmp.Diff([]string{"a.pdf 0 fresh", "b.pdf 0 new", "c.pdf 0 new"}, regenerated(t, folder,
		Options{})); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

// TestTwoRuns: a second run keeps out of a folder that a first one is at work in; the lock of one that was killed is
// free.
func TestTwoRuns(t *testing.T) {
	folder := put(t, map[string]string{"plan.toml": strings.Replace(plan, `"1s"`, `"1m"`, 1), "n.ipynb": "n",
		"in/a.csv": "a", "in/b.csv": "hang", "out/" + LockName: "left by a killed run"})
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	begun, ended := make(chan bool), make(chan error)
	go func() {
		_, err := attempt(ctx, folder, Options{Workers: 1, Each: func(o Outcome) {
			if o.Task.Output.Text == filepath.Join(folder, "out/a.pdf") {
				close(begun)
			}
		}})
		ended <- err
	}()
	<-begun
	if _, err := attempt(context.Background(), folder, Options{}); err == nil || !strings.Contains(err.Error(),
		"another run is regenerating this folder") {
		t.Errorf("a second run: %v", err)
	}
	stop()
	if err := <-ended; !errors.Is(err, ErrInterrupted) {
		t.Errorf("the first run: %v", err)
	}
}

// TestLedger: the last line about a report holds, a torn one is passed over, and a long ledger is written anew.
func TestLedger(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, LedgerName)
	line := func(report string, s Status) string {
		text, err := json.Marshal(entryMade{Report: report, Status: s})
		if err != nil {
			t.Fatal(err)
		}
		return string(text) + "\n"
	}
	if err := os.WriteFile(path, []byte(line("a.pdf", 0)+line("b.pdf", 0)+line("a.pdf", 1)+`{"report":"b.pdf","sta`),
		0o666); err != nil {
		t.Fatal(err)
	}
	l, err := openLedger(folder, Shard{})
	if err != nil {
		t.Fatal(err)
	}
	if a, _ := l.of("a.pdf"); a.Status != SomeFail {
		t.Errorf("a.pdf: %v, want the last line", a)
	}
	if b, ok := l.of("b.pdf"); !ok || b.Status != AllPass {
		t.Errorf("b.pdf: %v, want the whole line", b)
	}
	if err := l.add(entryMade{Report: "c.pdf"}); err != nil {
		t.Fatal(err)
	}
	l.close()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(data), "\n"); n != 3 {
		t.Errorf("the ledger has %d lines, want 3:\n%s", n, data)
	}
}
