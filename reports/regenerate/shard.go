package regenerate

import (
	"cmp"
	"container/heap"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// Shard is one of several parts of a plan, each run by itself, on one machine or many: part I of N, from 1. The zero
// Shard is the whole plan. Parts write the same folders, each with a ledger of its own, and wait for nobody; the next
// run of the whole plan takes their ledgers over, and makes what a part did not.
type Shard struct{ I, N int }

// ParseShard reads "3/8".
func ParseShard(text string) (Shard, error) {
	i, n, ok := strings.Cut(text, "/")
	s := Shard{}
	var errI, errN error
	s.I, errI = strconv.Atoi(i)
	s.N, errN = strconv.Atoi(n)
	if !ok || errI != nil || errN != nil || s.N < 1 || s.N > mostShards || s.I < 1 || s.I > s.N {
		return Shard{}, fmt.Errorf("found %q, expected a part of the plan, as in 3/8", text)
	}
	return s, nil
}

// mostShards bounds the parts of a plan. A choice, above what schedulers allow in one array.
const mostShards = 100_000

func (s Shard) whole() bool { return s.N == 0 }

// suffix is what the files of a part end in.
func (s Shard) suffix() string {
	if s.whole() {
		return ""
	}
	return fmt.Sprintf("-%d-of-%d", s.I, s.N)
}

// of returns the tasks of a part. Every part finds the same division: the dearest task goes to the part that has least
// to do yet. What a report cost is the time that it took when it was last made; one that never was costs the median of
// the others.
func (s Shard) of(tasks []Task, cost func(*Task) int64) []Task {
	if s.whole() {
		return tasks
	}
	costs := make([]int64, len(tasks))
	var known []int64
	for i := range tasks {
		if costs[i] = cost(&tasks[i]); costs[i] > 0 {
			known = append(known, costs[i])
		}
	}
	usual := int64(1)
	if len(known) > 0 {
		slices.Sort(known)
		usual = known[len(known)/2]
	}
	order := make([]int, len(tasks))
	for i := range tasks {
		order[i] = i
		if costs[i] <= 0 {
			costs[i] = usual
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(costs[b], costs[a]), strings.Compare(tasks[a].Output.Text, tasks[b].Output.Text))
	})
	parts := make(byLoad, s.N) // all empty, in order: a heap
	for k := range parts {
		parts[k].number = k + 1
	}
	mine := make([]bool, len(tasks))
	for _, i := range order {
		mine[i] = parts[0].number == s.I
		parts[0].load += costs[i]
		heap.Fix(parts, 0)
	}
	var some []Task
	for i := range tasks {
		if mine[i] {
			some = append(some, tasks[i])
		}
	}
	return some
}

// byLoad is a heap of parts: the one that has least to do, and of several the first, is on top.
type byLoad []struct {
	load   int64
	number int
}

func (b byLoad) Len() int      { return len(b) }
func (b byLoad) Swap(i, j int) { b[i], b[j] = b[j], b[i] }
func (b byLoad) Less(i, j int) bool {
	return cmp.Or(cmp.Compare(b[i].load, b[j].load), cmp.Compare(b[i].number, b[j].number)) < 0
}

// Push and Pop are of the interface of heaps; the parts stay as many as they are.
func (b byLoad) Push(any) { panic("a part more") }
func (b byLoad) Pop() any { panic("a part less") }

// cost is what a report cost when it was last made, in milliseconds; 0 when that is not known. Of the parts of a plan
// all must find the same, so what they made themselves does not count.
func (r *run) cost(t *Task) int64 {
	l := r.ledgers[filepath.Dir(t.Output.Text)]
	if l == nil {
		return 0
	}
	return l.costs[filepath.Base(t.Output.Text)]
}
