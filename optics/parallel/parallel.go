// Package parallel does independent things on several processors, with the outcome of one: what is done goes by its
// index, never by who does it or when. It is the only pool of the program.
package parallel

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// Each calls do for every index from 0 to n-1, on as many processors as there are, and returns the error of the lowest
// index that has one; the others are done all the same. do may be called by several goroutines at once, and must write
// only to what belongs to its index. A panic in do ends the work and is raised again in the caller.
func Each(n int, do func(i int) error) error {
	errs := make([]error, n)
	Share(runtime.GOMAXPROCS(0), n, func(next func() (int, bool)) {
		for i, ok := next(); ok; i, ok = next() {
			errs[i] = do(i)
		}
	})
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// Share runs work on the given number of goroutines, no more than n and the caller among them, and returns when all
// of them have. Each takes indices from 0 to n-1 by next, which gives every one of them once and then reports false:
// work may keep what is dear to make from one index to the next, and stops early by returning. A panic in work leaves
// the other goroutines without a next index and is raised again in the caller.
func Share(workers, n int, work func(next func() (i int, ok bool))) {
	var taken atomic.Int64
	var panicked atomic.Pointer[any]
	next := func() (int, bool) {
		i := int(taken.Add(1)) - 1
		return i, i < n
	}
	guarded := func() {
		defer func() {
			if r := recover(); r != nil {
				panicked.CompareAndSwap(nil, &r)
				taken.Store(int64(n))
			}
		}()
		work(next)
	}
	var others sync.WaitGroup
	for range min(workers, n) - 1 {
		others.Go(guarded)
	}
	guarded()
	others.Wait()
	if r := panicked.Load(); r != nil {
		panic(*r)
	}
}
