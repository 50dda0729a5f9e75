package session

import (
	"context"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"go.starlark.net/starlark"

	"wedgework/reports/notebook"
)

// slow is a word that takes 10 ms for each of its steps.
func slow(steps int) *starlark.Builtin {
	return starlark.NewBuiltin("slow", func(th *starlark.Thread, _ *starlark.Builtin, _ starlark.Tuple,
		_ []starlark.Tuple) (starlark.Value, error) {
		w := Begin(th, "steps")
		defer w.End()
		for i := range steps {
			if err := ContextOf(th).Err(); err != nil {
				return nil, err
			}
			time.Sleep(10 * time.Millisecond)
			w.At(i+1, steps)
		}
		return starlark.None, nil
	})
}

// watch runs slow(steps) in a bubble with a clock of its own and returns what was told.
func watch(t *testing.T, steps int, cell Cell, ctx func() (context.Context, context.CancelFunc)) (told []Progress,
	outputs []notebook.Output) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		s, err := New(Config{
			Words: starlark.StringDict{"slow": slow(steps)},
			Progress: func(p Progress, emit func(notebook.Output) error) {
				told = append(told, p)
				if err := emit(notebook.Output{Type: notebook.DisplayOutput, DisplayID: p.ID}); err != nil {
					t.Error(err)
				}
			},
		})
		if err != nil {
			t.Fatal(err)
		}
		c, cancel := ctx()
		defer cancel()
		cell.Source = "slow()"
		_, _ = s.Run(c, cell, func(o notebook.Output) { outputs = append(outputs, o) })
	})
	return told, outputs
}

func background() (context.Context, context.CancelFunc) {
	return context.WithCancel(context.Background())
}

func TestProgress(t *testing.T) {
	told, outputs := watch(t, 200, Cell{}, background)
	if len(told) < 10 || len(told) > 17 {
		t.Fatalf("told %d times of two seconds' work, want about 15 times after the first half second, and the end",
			len(told))
	}
	for i, p := range told {
		first, last := i == 0, i == len(told)-1
		if p.First != first || p.Over != last || p.ID == "" || p.ID != told[0].ID {
			t.Errorf("%d of %d: %+v", i+1, len(told), p)
		}
		if o := outputs[i]; o.DisplayID != p.ID || (o.Type == notebook.DisplayOutput) != first {
			t.Errorf("output %d is %s %s", i+1, o.Type, o.DisplayID)
		}
	}
	if p := told[0]; p.Elapsed != progressAfter || p.Done < 48 || p.Done > 50 {
		t.Errorf("told first %+v, want 49 or 50 steps after half a second", p)
	}
	if got, want := told[len(told)-1].String(), "steps: 200 in 2.0 s"; got != want {
		t.Errorf("in the end %q, want %q", got, want)
	}
	if got := told[5].String(); !strings.Contains(got, "1 s left, 100 a second, ") && !strings.Contains(got,
		"1 s left, 99 a second, ") {
		t.Errorf("on the way %q", got)
	}
}

func TestProgressOfShortWork(t *testing.T) {
	if told, _ := watch(t, 45, Cell{}, background); len(told) != 0 {
		t.Errorf("told %v of work of 0.45 s", told)
	}
	if told, _ := watch(t, 200, Cell{Quiet: true}, background); len(told) != 0 {
		t.Errorf("told %v of a cell that nobody watches", told)
	}
}

func TestProgressInterrupted(t *testing.T) {
	told, outputs := watch(t, 500, Cell{}, func() (context.Context, context.CancelFunc) {
		return context.WithTimeout(context.Background(), time.Second)
	})
	if n := len(told); n == 0 || !told[n-1].Over || !strings.HasPrefix(told[n-1].String(), "steps: stopped after ") {
		t.Errorf("told %v, want that the work was stopped", told)
	}
	if n := len(outputs); n == 0 || outputs[n-1].Type != notebook.ErrorOutput {
		t.Errorf("outputs %v, want the error last", outputs)
	}
}

func TestProgressInWords(t *testing.T) {
	tests := []struct {
		p    Progress
		want string
	}{
		{Progress{Task: "trials", Done: 45_000, Total: 100_000, Elapsed: 5 * time.Second},
			"trials: 45 %, 6 s left, 9,000 a second, 45,000 of 100,000"},
		{Progress{Task: "fit", Done: 3, Elapsed: 2 * time.Second}, "fit: 3 done, 2 s so far, 1.5 a second"},
		{Progress{Task: "fit", Elapsed: 2 * time.Second}, "fit: 2 s so far"},
		{Progress{Task: "grid", Total: 8, Elapsed: 2 * time.Second}, "grid: 0 %, 2 s so far, 0 of 8"},
		{Progress{Task: "grid", Done: 1, Total: 1000, Elapsed: 9 * time.Second},
			"grid: 0 %, 2 h left, 0.11 a second, 1 of 1,000"},
		{Progress{Task: "grid", Done: 1, Total: 10000, Elapsed: 9 * time.Second},
			"grid: 0 %, 25 h left, 0.11 a second, 1 of 10,000"},
		{Progress{Task: "grid", Done: 9, Total: 8, Elapsed: time.Second}, "grid: 100 %, 0 s left, 9 a second, 9 of 8"},
		{Progress{Task: "grid", Over: true, Elapsed: time.Second}, "grid: 1.0 s"},
	}
	for _, tt := range tests {
		if got := tt.p.String(); got != tt.want {
			t.Errorf("%+v: %q, want %q", tt.p, got, tt.want)
		}
	}
}
