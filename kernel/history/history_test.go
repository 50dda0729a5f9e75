package history

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// Processes that append at the same time are this test binary again.
const appendEnv = "WEDGEWORK_HISTORY_APPEND"

func TestMain(m *testing.M) {
	if path := os.Getenv(appendEnv); path != "" {
		s := New(path)
		for i := range 50 {
			if err := s.Append(Entry{Line: i + 1, Source: strings.Repeat("x", i*100)}); err != nil {
				fmt.Fprintln(os.Stderr, err)
				os.Exit(1)
			}
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

func file(t *testing.T) string { return filepath.Join(t.TempDir(), "state", "history.jsonl") }

func appendAll(t *testing.T, s *Store, sources ...string) {
	t.Helper()
	for i, source := range sources {
		if err := s.Append(Entry{Line: i + 1, Source: source, Result: "=" + source}); err != nil {
			t.Fatal(err)
		}
	}
}

// text is entries as "session:line source", joined.
func text(t *testing.T, entries []Entry, err error) string {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	var parts []string
	for _, e := range entries {
		parts = append(parts, fmt.Sprintf("%d:%d %s", e.Session, e.Line, e.Source))
	}
	return strings.Join(parts, ", ")
}

func TestAccess(t *testing.T) {
	path := file(t)
	appendAll(t, New(path), "a", "b", "a")
	appendAll(t, New(path), "c", "a\nb")
	s := New(path) // a third kernel, which has run nothing
	for _, tt := range []struct {
		name string
		get  func() ([]Entry, error)
		want string
	}{
		{"tail", func() ([]Entry, error) { return s.Tail(2) }, "2:1 c, 2:2 a\nb"},
		{"tail of all", func() ([]Entry, error) { return s.Tail(All) }, "1:1 a, 1:2 b, 1:3 a, 2:1 c, 2:2 a\nb"},
		{"tail of none", func() ([]Entry, error) { return s.Tail(0) }, ""},
		{"tail of less", func() ([]Entry, error) { return s.Tail(-1) }, ""},
		{"range", func() ([]Entry, error) { return s.Range(1, 2, 4) }, "1:2 b, 1:3 a"},
		{"range of the session before", func() ([]Entry, error) { return s.Range(-1, 1, All) }, "2:1 c, 2:2 a\nb"},
		{"range of this session", func() ([]Entry, error) { return s.Range(0, 1, All) }, ""},
		{"search", func() ([]Entry, error) { return s.Search("a*", All, false) }, "1:1 a, 1:3 a, 2:2 a\nb"},
		{"search the whole source", func() ([]Entry, error) { return s.Search("a", All, false) }, "1:1 a, 1:3 a"},
		{"search for the last", func() ([]Entry, error) { return s.Search("?", 2, false) }, "1:3 a, 2:1 c"},
		{"search for each once", func() ([]Entry, error) { return s.Search("*", All, true) },
			"1:2 b, 1:3 a, 2:1 c, 2:2 a\nb"},
	} {
		entries, err := tt.get()
		if got := text(t, entries, err); got != tt.want {
			t.Errorf("%s: got %q, want %q", tt.name, got, tt.want)
		}
	}
}

func TestNothingYet(t *testing.T) {
	s := New(file(t))
	entries, err := s.Tail(5)
	if got := text(t, entries, err); got != "" {
		t.Errorf("got %q, want nothing", got)
	}
	if _, err := os.Stat(s.path); err == nil {
		t.Error("a file was made for a question")
	}
}

// Where a machine has ended in the middle of a line, or somebody has written into the file, the rest still counts.
func TestDamage(t *testing.T) {
	path := file(t)
	appendAll(t, New(path), "a", "b")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	damaged := append([]byte("not JSON\n\x00\x00\n[]\n"), data[:len(data)-3]...) // b is cut short
	if err := os.WriteFile(path, damaged, 0o600); err != nil {
		t.Fatal(err)
	}
	s := New(path)
	appendAll(t, s, "c")
	entries, err := s.Tail(All)
	if got, want := text(t, entries, err), "1:1 a, 2:1 c"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestLongResultIsCut(t *testing.T) {
	s := New(file(t))
	if err := s.Append(Entry{Line: 1, Source: "x", Result: strings.Repeat("ä", longestResult)}); err != nil {
		t.Fatal(err)
	}
	entries, err := s.Tail(1)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(entries[0].Result); n > longestResult+4 || !strings.HasSuffix(entries[0].Result, "ä ...") {
		t.Errorf("kept %d bytes ending in %q", n, entries[0].Result[n-8:])
	}
}

// Many processes at once lose nothing, and no two have the same session.
func TestManyProcesses(t *testing.T) {
	path := file(t)
	const processes = 6
	var all sync.WaitGroup
	for range processes {
		all.Go(func() {
			cmd := exec.Command(os.Args[0], "-test.run=^$")
			cmd.Env = append(os.Environ(), appendEnv+"="+path)
			if out, err := cmd.CombinedOutput(); err != nil {
				t.Errorf("%v: %s", err, out)
			}
		})
	}
	all.Wait()
	entries, err := New(path).Tail(All)
	if err != nil {
		t.Fatal(err)
	}
	lines := map[int]int{}
	for _, e := range entries {
		if lines[e.Session]++; e.Line != lines[e.Session] || len(e.Source) != (e.Line-1)*100 {
			t.Fatalf("session %d: line %d of %d bytes comes as number %d", e.Session, e.Line, len(e.Source),
				lines[e.Session])
		}
	}
	if len(lines) != processes || len(entries) != 50*processes {
		t.Errorf("%d entries of %d sessions, want %d of %d", len(entries), len(lines), 50*processes, processes)
	}
}

// A file that has grown large loses its older half, and who has begun before still finds its place.
func TestTrim(t *testing.T) {
	path := file(t)
	early := New(path)
	big := strings.Repeat("y", 1<<20)
	for i := range mostBytes/len(big) + 1 {
		if err := early.Append(Entry{Line: i + 1, Source: big}); err != nil {
			t.Fatal(err)
		}
	}
	late := New(path)
	appendAll(t, late, "late")
	if err := early.Append(Entry{Line: 100, Source: "early"}); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if info.Size() > mostBytes*3/4 || info.Size() < mostBytes/4 {
		t.Errorf("the file has %d bytes, want about half of %d", info.Size(), mostBytes)
	}
	entries, err := late.Tail(2)
	if got, want := text(t, entries, err), "2:1 late, 1:100 early"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestPattern(t *testing.T) {
	for _, tt := range []struct {
		pattern, source string
		want            bool
	}{
		{"1?2*", "1+2+3", true},
		{"1?2*", "12", false},
		{"*", "", true},
		{"*deg*", "a = 5*deg\nb", true},
		{"x.y", "xzy", false},
		{"(a+b)", "(a+b)", true},
		{"[ab]c", "bc", true},
		{"[ab]c", "cc", false},
		{"[^ab]c", "cc", true},
		{"[a-c]", "b", true},
		{"[]]", "]", true},
		{"[[]", "[", true},
		{`[\]`, `\`, true},
		{"a[", "a[", true},
		{"é?", "éß", true},
	} {
		re, err := compile(tt.pattern)
		if err != nil {
			t.Errorf("%q: %v", tt.pattern, err)
			continue
		}
		if got := re.MatchString(tt.source); got != tt.want {
			t.Errorf("%q on %q: %v, want %v", tt.pattern, tt.source, got, tt.want)
		}
	}
	if _, err := compile("[z-a]"); err == nil {
		t.Error("[z-a] passes")
	}
}
