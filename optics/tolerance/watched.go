package tolerance

import "context"

type watchedKey struct{}

// Watched returns a context in which Maximize and Front tell f how far they have come: of the evaluations that they may
// need at most, those done, and those that a climb which ended sooner has left out. f is called on one goroutine at a
// time.
func Watched(ctx context.Context, f func(done, total int)) context.Context {
	return context.WithValue(ctx, watchedKey{}, f)
}

// watchOf returns the function of Watched, or one that does nothing.
func watchOf(ctx context.Context) func(done, total int) {
	if f, ok := ctx.Value(watchedKey{}).(func(done, total int)); ok {
		return f
	}
	return func(int, int) {}
}

// partOf is the context of part k of n alike.
func partOf(ctx context.Context, k, n int) context.Context {
	f := watchOf(ctx)
	return Watched(ctx, func(done, total int) { f(k*total+done, n*total) })
}
