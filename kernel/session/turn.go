package session

import (
	"context"
	"sync/atomic"

	"go.starlark.net/starlark"
)

// turn is the right to use what the session holds. One run has it at a time, so that names, lists and dicts are never
// used by two at once. A cell gives it away between two steps of the interpreter when somebody waits for it, and while
// a word computes Apart; an aside keeps it to its end, so that a cell sees what an aside does as one step.
type turn struct {
	taken   chan struct{} // holds an element while somebody has the turn; who waits is served in order
	waiting atomic.Int32  // asides that wait for it
}

func newTurn() turn { return turn{taken: make(chan struct{}, 1)} }

func (t *turn) take() { t.taken <- struct{}{} }
func (t *turn) give() { <-t.taken }

// tryTake reports whether it got the turn, and does not wait.
func (t *turn) tryTake() bool {
	select {
	case t.taken <- struct{}{}:
		return true
	default:
		return false
	}
}

// takeAside waits for the turn until the context ends.
func (t *turn) takeAside(ctx context.Context) error {
	t.waiting.Add(1)
	defer t.waiting.Add(-1)
	select {
	case t.taken <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// leave gives the turn away in the middle of a cell; enter waits for it again.
func (r *run) leave() {
	r.session.setCurrent(nil)
	r.left = true
	r.session.turn.give()
}

func (r *run) enter() {
	r.session.turn.take()
	r.left = false
	r.session.setCurrent(r)
}

// mayLeave reports whether a run has a turn that it can give away. What gathers its outputs has settings in its hands
// that nobody else may see.
func (r *run) mayLeave() bool { return !r.aside && !r.gathers && !r.left }

// giveWay lets asides that wait have their turn.
func (r *run) giveWay() {
	if r.session.turn.waiting.Load() > 0 && r.mayLeave() {
		r.leave()
		r.enter()
	}
}

// Apart calls f, which uses no value that a cell could change, and lets asides use the session meanwhile: what takes
// seconds is computed so.
func Apart[T any](thread *starlark.Thread, f func() (T, error)) (T, error) {
	r, ok := thread.Local(runKey).(*run)
	if !ok || !r.mayLeave() {
		return f()
	}
	r.leave()
	defer r.enter()
	return f()
}
