package stack

import "context"

type progressKey struct{}

// WithProgress returns a context that reports how far a long computation has come: Over and Assemble call f with the
// steps done and the steps there are, at the end of each, never two calls at once.
func WithProgress(ctx context.Context, f func(done, total int)) context.Context {
	return context.WithValue(ctx, progressKey{}, f)
}

// Quiet returns a context that reports to nobody, for computations that are steps of a longer one.
func Quiet(ctx context.Context) context.Context { return WithProgress(ctx, func(int, int) {}) }

// progressOf returns the function of WithProgress, or one that does nothing.
func progressOf(ctx context.Context) func(done, total int) {
	if f, ok := ctx.Value(progressKey{}).(func(done, total int)); ok {
		return f
	}
	return func(int, int) {}
}
