package session

import (
	"context"
	"fmt"
	"runtime"
	"runtime/metrics"
	"sync/atomic"
	"time"

	"go.starlark.net/starlark"

	"wedgework/reports/notebook"
)

// Keys of what a word finds on its thread.
const (
	ContextKey = "wedgework.session.context" // the context.Context of the running cell
	runKey     = "wedgework.session.run"
)

// ContextOf returns the context of the cell that thread runs. Words that take long look at it.
func ContextOf(thread *starlark.Thread) context.Context {
	if ctx, ok := thread.Local(ContextKey).(context.Context); ok {
		return ctx
	}
	return context.Background()
}

// Emit hands an output of the cell that thread runs to its receiver; see Session.Emit. The second display
// of one DisplayID in a cell goes out as an update of the first.
func Emit(thread *starlark.Thread, o notebook.Output) error {
	r, ok := thread.Local(runKey).(*run)
	if !ok {
		return ErrIdle
	}
	return r.send(o)
}

// AttachedOf returns what is attached to the cell that thread runs; nil when nothing is.
func AttachedOf(thread *starlark.Thread) any {
	if r, ok := thread.Local(runKey).(*run); ok {
		return r.cell.Attached
	}
	return nil
}

// run is one cell on its way. Each has a thread of its own: a cancelled thread stays cancelled, and a
// cancellation that comes late must not reach the next cell.
type run struct {
	session *Session
	ctx     context.Context
	cell    Cell
	thread  *starlark.Thread
	out     *collector
	bounds  Bounds
	halted  atomic.Pointer[halt]
	done    chan struct{}
	after   func() bool
	gathers bool // outputs are gathered, and not drawn
	aside   bool // beside the cells: it keeps its turn to the end
	left    bool // the turn is given away; of who has the thread
}

// halt is why the session itself ended a cell.
type halt struct {
	kind    string
	message string
	heap    bool // memory was the reason
}

func (s *Session) newRun(ctx context.Context, cell Cell, out *collector) *run {
	r := &run{session: s, ctx: ctx, cell: cell, out: out, bounds: s.config.Bounds,
		thread: &starlark.Thread{Name: cell.Name}}
	for key, v := range s.config.Local {
		r.thread.SetLocal(key, v)
	}
	r.thread.SetLocal(ContextKey, ctx)
	r.thread.SetLocal(runKey, r)
	r.thread.Print = func(_ *starlark.Thread, text string) {
		if err := r.out.print(text + "\n"); err != nil {
			r.stop(LimitError, err.Error())
		}
	}
	r.thread.OnMaxSteps = r.watchSteps
	r.thread.SetMaxExecutionSteps(min(stride, r.bounds.Steps))
	return r
}

// stride is the steps between two looks at the depth of calls. A call takes several steps.
const stride = 1000

// watchSteps is called by the interpreter when the steps it was given are used up.
func (r *run) watchSteps(th *starlark.Thread) {
	switch steps, depth := th.ExecutionSteps(), th.CallStackDepth(); {
	case steps >= r.bounds.Steps:
		r.stop(LimitError, fmt.Sprintf("this cell has taken more than the limit of %d steps", r.bounds.Steps))
	case depth > r.bounds.Depth:
		r.stop(LimitError, fmt.Sprintf("calls inside calls are over the limit of %d deep", r.bounds.Depth))
	default:
		th.SetMaxExecutionSteps(min(steps+stride, r.bounds.Steps))
		r.giveWay()
	}
}

// stop ends the cell at the interpreter's next step. The first reason counts.
func (r *run) stop(kind, message string) {
	r.halted.CompareAndSwap(nil, &halt{kind: kind, message: message})
	r.thread.Cancel(message)
}

func (r *run) send(o notebook.Output) error {
	err := r.out.send(o)
	if err != nil {
		r.stop(LimitError, err.Error())
	}
	return err
}

// start begins to watch for the end of the context and the growth of the heap.
func (r *run) start() {
	r.after = context.AfterFunc(r.ctx, func() { r.stop(Interrupted, interruption(r.ctx)) })
	if r.ctx.Err() != nil {
		r.stop(Interrupted, interruption(r.ctx)) // the function runs on a goroutine, and that may be late
	}
	r.done = make(chan struct{})
	go r.watchHeap(readHeap(), r.done)
}

// finish ends the watching and returns why the session stopped the cell, if it did.
func (r *run) finish() *halt {
	if r.done == nil { // the cell did not compile
		return nil
	}
	r.after()
	close(r.done)
	h := r.halted.Load()
	if h != nil && h.heap {
		runtime.GC() // or the next cell starts beside this one's garbage
	}
	return h
}

func interruption(ctx context.Context) string {
	if context.Cause(ctx) == context.DeadlineExceeded {
		return "this cell has run out of the time it was given"
	}
	return "interrupted"
}

// heapInterval is short against the time it takes to fill a machine's memory.
const heapInterval = 5 * time.Millisecond

// heap is what the process holds: live at the last collection, and in all.
type heap struct{ live, objects int64 }

func readHeap() heap {
	samples := []metrics.Sample{{Name: "/gc/heap/live:bytes"}, {Name: "/memory/classes/heap/objects:bytes"}}
	metrics.Read(samples)
	return heap{int64(samples[0].Value.Uint64()), int64(samples[1].Value.Uint64())}
}

// grown reports whether the process has grown by more than the limit. Garbage alone is allowed: a collection
// comes only when the heap has doubled, so that the objects may be twice what lives.
func grown(before, now heap, limit int64) bool {
	return now.live-before.objects > limit || now.objects-before.objects > 2*limit+before.live
}

// watchHeap stops the cell when the process grows too much while it runs.
func (r *run) watchHeap(before heap, done <-chan struct{}) {
	t := time.NewTicker(heapInterval)
	defer t.Stop()
	for {
		select {
		case <-done:
			return
		case <-t.C:
		}
		if grown(before, readHeap(), r.bounds.Heap) {
			message := fmt.Sprintf("memory has grown by more than the limit of %d MiB while this cell ran",
				r.bounds.Heap>>20)
			r.halted.CompareAndSwap(nil, &halt{LimitError, message, true})
			r.thread.Cancel(message)
			return
		}
	}
}
