package watch

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestNewFailuresOnly: of each failure is told once, until it is over.
func TestNewFailuresOnly(t *testing.T) {
	folder := t.TempDir()
	a, b := Failure{"a.pdf", NotMade, "empty"}, Failure{"b.pdf", NotPassing, "2 of 3"}
	a2 := Failure{"a.pdf", NotPassing, "1 of 3"}
	for i, c := range []struct{ all, want []Failure }{
		{[]Failure{a}, []Failure{a}}, {[]Failure{a}, nil}, {[]Failure{a, b}, []Failure{b}}, {[]Failure{b}, nil},
		{[]Failure{a, b}, []Failure{a}}, {[]Failure{a2, b}, []Failure{a2}}, {nil, nil}, {[]Failure{b}, []Failure{b}},
	} {
		fresh, err := NewFailures(folder, c.all)
		if err != nil {
			t.Fatal(err)
		}
		if fmt.Sprint(fresh) != fmt.Sprint(c.want) {
			t.Errorf("run %d: new %v, want %v", i+1, fresh, c.want)
		}
		if err := Remember(folder, c.all); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(folder, NotifiedName), []byte("damaged"), 0o666); err != nil {
		t.Fatal(err)
	}
	if fresh, err := NewFailures(folder, []Failure{a}); err != nil || len(fresh) != 1 {
		t.Errorf("after damage: %v, %v", fresh, err)
	}
}

// TestTell: a command gets the message as JSON, whatever is in it, and one that fails says why.
func TestTell(t *testing.T) {
	folder := t.TempDir()
	script := func(name, text string) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, []byte("#!/bin/sh\n"+text), 0o777); err != nil {
			t.Fatal(err)
		}
		return path
	}
	m := Message{Plan: "p.toml", Time: time.Date(2026, 11, 30, 22, 0, 0, 0, time.UTC),
		Failures: []Failure{{"$(touch hacked); `x`.pdf", NotMade, "line\nline"}}}
	if err := Tell(t.Context(), script("keep", "cat > "+filepath.Join(folder, "got")), m); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(folder, "got"))
	if err != nil {
		t.Fatal(err)
	}
	var got Message
	if err := json.Unmarshal(data, &got); err != nil || fmt.Sprint(got) != fmt.Sprint(m) {
		t.Errorf("got %s (%v)", data, err)
	}
	err = Tell(t.Context(), script("fail", "echo no network >&2; exit 3"), m)
	if err == nil || !strings.HasSuffix(err.Error(), "exit status 3: no network") {
		t.Errorf("a failing command: %v", err)
	}
	if err := Tell(t.Context(), filepath.Join(folder, "absent"), m); err == nil {
		t.Error("a command that is not there is no error")
	}
}

// TestMetrics: the text is that of Prometheus's exposition format 0.0.4
// (prometheus.io/docs/instrumenting/exposition_formats): HELP, TYPE and samples, with backslash, quote and line feed
// escaped in values of labels. The last success stays when a run fails.
func TestMetrics(t *testing.T) {
	path := filepath.Join(t.TempDir(), "w.prom")
	end := time.Unix(1_800_000_000, 250e6)
	m := Metrics{Plan: `a"b\c` + "\n", Passing: 3, NotPassing: 1, Made: 2, Ended: end, Took: 1500 * time.Millisecond}
	write := func() string {
		if err := m.Write(path); err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	has := func(text, line string) {
		t.Helper()
		if !strings.Contains("\n"+text, "\n"+line+"\n") {
			t.Errorf("no line %s in\n%s", line, text)
		}
	}
	const plan = `plan="a\"b\\c\n"`
	text := write()
	has(text, "# TYPE wedgework_reports gauge")
	has(text, `wedgework_reports{`+plan+`,state="passing"} 3`)
	has(text, `wedgework_reports{`+plan+`,state="not_made"} 0`)
	has(text, `wedgework_run_seconds{`+plan+`} 1.500`)
	has(text, lastSuccess+`{`+plan+`} 1800000000.250`)
	if strings.Contains(text, "oldest") {
		t.Error("something waits")
	}
	m.NotMade, m.Ended, m.Waiting = 1, end.Add(time.Hour), end.Add(-time.Minute)
	text = write()
	has(text, lastSuccess+`{`+plan+`} 1800000000.250`)
	has(text, `wedgework_last_run_timestamp_seconds{`+plan+`} 1800003600.250`)
	has(text, `wedgework_oldest_waiting_timestamp_seconds{`+plan+`} 1799999940.250`)
}
