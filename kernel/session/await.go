package session

import (
	"context"
	"runtime/debug"
)

// Await returns what f does, or the context's error as soon as the context ends: f is then left to itself, and what
// it makes is thrown away. It is for work that cannot look at a context itself, is over in a few seconds and touches
// nothing that changes: drawing a figure, reading a file that is in memory. A panic of f becomes an error.
func Await[T any](ctx context.Context, f func() (T, error)) (T, error) {
	type result struct {
		value T
		err   error
	}
	done := make(chan result, 1)
	go func() {
		var r result
		defer func() {
			if p := recover(); p != nil {
				r.err = &panicError{"a computation", p, debug.Stack()}
			}
			done <- r
		}()
		r.value, r.err = f()
	}()
	select {
	case r := <-done:
		return r.value, r.err
	case <-ctx.Done():
		var zero T
		return zero, ctx.Err()
	}
}
