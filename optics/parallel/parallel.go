// Package parallel does independent things on all processors with the outcome of one.
package parallel

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// Each does n independent things, on as many processors as there are, and returns the error of the first in
// order that has one. What each does goes by its index, so that the outcome is the same on one processor. A panic is
// carried to the one that called.
func Each(n int, do func(i int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var panicked atomic.Pointer[any]
	work := func() {
		defer func() {
			if r := recover(); r != nil {
				panicked.CompareAndSwap(nil, &r)
				next.Store(int64(n)) // nobody begins another
			}
		}()
		for {
			i := int(next.Add(1)) - 1
			if i >= n {
				return
			}
			errs[i] = do(i)
		}
	}
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) - 1 {
		workers.Go(work)
	}
	work()
	workers.Wait()
	if r := panicked.Load(); r != nil {
		panic(*r)
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
