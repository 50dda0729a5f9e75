package parallel_test

import (
	"errors"
	"sync/atomic"
	"testing"

	"wedgework/optics/parallel"
)

func TestEach(t *testing.T) {
	const n = 1000
	done := make([]int, n)
	if err := parallel.Each(n, func(i int) error { done[i]++; return nil }); err != nil {
		t.Fatal(err)
	}
	for i, d := range done {
		if d != 1 {
			t.Fatalf("%d was done %d times", i, d)
		}
	}
	first, second := errors.New("first"), errors.New("second")
	err := parallel.Each(n, func(i int) error {
		switch i {
		case 7:
			return first
		case 3:
			return nil
		}
		return second
	})
	if err != second { // that of 0
		t.Errorf("got %v, want the error of the least index", err)
	}
	if err := parallel.Each(0, nil); err != nil {
		t.Error(err)
	}
}

// TestShare: every index is given once, whoever takes it, to no more goroutines than there are indices; one that stops
// early leaves the rest to the others.
func TestShare(t *testing.T) {
	const n = 1000
	var done [n]atomic.Int32
	var workers atomic.Int32
	parallel.Share(8, n, func(next func() (int, bool)) {
		lazy := workers.Add(1) == 1
		for i, ok := next(); ok; i, ok = next() {
			done[i].Add(1)
			if lazy {
				return
			}
		}
	})
	if got := workers.Load(); got != 8 {
		t.Errorf("%d goroutines, want 8", got)
	}
	for i := range done {
		if d := done[i].Load(); d != 1 {
			t.Fatalf("%d was done %d times", i, d)
		}
	}
	workers.Store(0)
	parallel.Share(8, 2, func(func() (int, bool)) { workers.Add(1) })
	if got := workers.Load(); got != 2 {
		t.Errorf("%d goroutines for 2 indices", got)
	}
}

// TestPanic: what panics, panics where it was called from, whoever did it.
func TestPanic(t *testing.T) {
	for _, at := range []int{0, 1, 999} {
		func() {
			defer func() {
				if r := recover(); r != at {
					t.Errorf("recovered %v, want %d", r, at)
				}
			}()
			parallel.Each(1000, func(i int) error {
				if i == at {
					panic(at)
				}
				return nil
			})
			t.Errorf("%d: no panic", at)
		}()
	}
}
