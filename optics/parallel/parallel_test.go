package parallel_test

import (
	"errors"
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
