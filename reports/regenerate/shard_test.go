package regenerate

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/job"
)

// TestShardsDivide: every task is in one part, whatever its order in the plan, and no part costs more than the bound of
// Graham (SIAM J. Appl. Math. 17, 416, 1969) for the dearest first: 4/3 - 1/(3 N) of the best there can be, which is at
// least the mean and at least the dearest task.
func TestShardsDivide(t *testing.T) {
	var tasks []Task
	costs := map[string]int64{}
	var sum, dearest int64
	for i := range 500 {
		name := fmt.Sprintf("%d.pdf", i*7919%500)
		tasks = append(tasks, Task{Job: job.Job{Output: job.Text{Text: name}}})
		costs[name] = int64(1 + (i*i)%997)
		sum, dearest = sum+costs[name], max(dearest, costs[name])
	}
	cost := func(t *Task) int64 { return costs[t.Output.Text] }
	reversed := slices.Clone(tasks)
	slices.Reverse(reversed)
	for _, n := range []int{1, 2, 7, 64, 600} {
		seen := map[string]int{}
		best := max(float64(sum)/float64(n), float64(dearest))
		for i := range n {
			s := Shard{i + 1, n}
			var load int64
			var names []string
			for _, task := range s.of(tasks, cost) {
				names = append(names, task.Output.Text)
				seen[task.Output.Text]++
				load += cost(&task)
			}
			if most := best * (4.0/3 - 1/(3*float64(n))); float64(load) > most {
				t.Errorf("part %d of %d costs %d, at most %.0f", i+1, n, load, most)
			}
			var again []string
			for _, task := range s.of(reversed, cost) {
				again = append(again, task.Output.Text)
			}
			slices.Sort(names)
			slices.Sort(again)
			if !slices.Equal(names, again) {
				t.Errorf("part %d of %d depends on the order of the plan", i+1, n)
			}
		}
		for name, count := range seen {
			if count != 1 {
				t.Errorf("%s is in %d of %d parts", name, count, n)
			}
		}
		if len(seen) != len(tasks) {
			t.Errorf("%d of %d tasks are in some of %d parts", len(seen), len(tasks), n)
		}
	}
}

// TestShardsUnion: parts that run at the same time make the reports of a single run, each once; the next run of the
// whole plan takes them over and makes none. A part that was interrupted makes only what it had not made.
func TestShardsUnion(t *testing.T) {
	files := map[string]string{"plan.toml": strings.Replace(plan, `"1s"`, `"1m"`, 1), "n.ipynb": "n"}
	for i := range 9 {
		files[fmt.Sprintf("in/%d.csv", i)] = fmt.Sprint("data ", i)
	}
	single, parts := put(t, files), put(t, files)
	regenerated(t, single, Options{})

	var wait sync.WaitGroup
	made := make([][]string, 3)
	for i := range made {
		wait.Go(func() {
			all, err := attempt(context.Background(), parts, Options{Shard: Shard{i + 1, 3}})
			if err != nil {
				t.Error(err)
			}
			made[i] = said(all)
		})
	}
	wait.Wait()
	together := slices.Concat(made...)
	slices.Sort(together)
	var want []string
	for i := range 9 {
		want = append(want, fmt.Sprintf("%d.pdf 0 new", i))
	}
	if d := cmp.Diff(want, together); d != "" {
		t.Errorf("parts (-want +got):\n%s", d)
	}
	for i := range 9 {
		for _, end := range []string{"pdf", "json", "ipynb"} {
			name := fmt.Sprintf("out/%d.%s", i, end)
			a, errA := os.ReadFile(filepath.Join(single, name))
			b, errB := os.ReadFile(filepath.Join(parts, name))
			if errA != nil || errB != nil || string(a) != string(b) {
				t.Errorf("%s is not that of a single run (%v, %v)", name, errA, errB)
			}
		}
	}
	if again, err := attempt(context.Background(), parts, Options{Shard: Shard{2, 3}}); err != nil ||
		strings.Contains(strings.Join(said(again), "\n"), "new") {
		t.Errorf("a part that runs again: %v, %v", said(again), err)
	}
	for i, line := range regenerated(t, parts, Options{}) {
		if line != fmt.Sprintf("%d.pdf 0 fresh", i) {
			t.Errorf("after the parts: %s", line)
		}
	}
	left, err := filepath.Glob(filepath.Join(parts, "out", LedgerName+"-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("ledgers of parts are left: %v, %v", left, err)
	}
	l, err := openLedger(filepath.Join(parts, "out"), Shard{})
	if err != nil {
		t.Fatal(err)
	}
	defer l.close()
	if len(l.costs) != 9 || l.costs["3.pdf"] < 1 {
		t.Errorf("costs %v", l.costs)
	}
}

// TestShardsAndWhole: while a part is at work no run of the whole plan begins, nor the same part a second time; another
// part does.
func TestShardsAndWhole(t *testing.T) {
	folder := put(t, map[string]string{"plan.toml": strings.Replace(plan, `"1s"`, `"1m"`, 1), "n.ipynb": "n",
		"in/a.csv": "hang", "in/b.csv": "b"})
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	ended := make(chan error)
	go func() {
		_, err := attempt(ctx, folder, Options{Shard: Shard{1, 2}}) // a.pdf, the first of two that cost the same
		ended <- err
	}()
	for began := time.Now(); time.Since(began) < time.Minute; time.Sleep(5 * time.Millisecond) {
		if _, err := os.Stat(filepath.Join(folder, "out", LedgerName+"-1-of-2")); err == nil {
			break
		}
	}
	if _, err := attempt(context.Background(), folder, Options{}); !errors.Is(err, ErrBusy) {
		t.Errorf("the whole plan beside a part: %v", err)
	}
	if _, err := attempt(context.Background(), folder, Options{Shard: Shard{1, 2}}); !errors.Is(err, ErrBusy) {
		t.Errorf("a part beside itself: %v", err)
	}
	other, err := attempt(context.Background(), folder, Options{Shard: Shard{2, 2}})
	if err != nil || fmt.Sprint(said(other)) != "[b.pdf 0 new]" {
		t.Errorf("the other part: %v, %v", said(other), err)
	}
	stop()
	if err := <-ended; !errors.Is(err, ErrInterrupted) {
		t.Errorf("the part: %v", err)
	}
}

func TestParseShard(t *testing.T) {
	if s, err := ParseShard("3/8"); err != nil || s != (Shard{3, 8}) {
		t.Errorf("3/8: %v, %v", s, err)
	}
	for _, bad := range []string{"", "3", "0/8", "9/8", "-1/8", "a/b", "1/0", "1/1000000000", "1/2/3"} {
		if s, err := ParseShard(bad); err == nil {
			t.Errorf("%q: %v", bad, s)
		}
	}
}
