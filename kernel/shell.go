package kernel

import (
	"context"
	"fmt"
	"sync"

	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
)

// shell is one line of requests, answered one after another: the main shell, or a subshell beside it (protocol 5.5),
// whose requests are answered while a cell runs.
type shell struct {
	id string // as subshell_id in headers; "" of the main shell

	mu      sync.Mutex
	waiting []queued
	bytes   int        // of what waits
	changed *sync.Cond // something has come or gone
	deleted bool
}

func newShell(id string) *shell {
	s := &shell{id: id}
	s.changed = sync.NewCond(&s.mu)
	return s
}

// subshell reports whether it is not the main shell.
func (s *shell) subshell() bool { return s.id != "" }

// queued is a request that waits its turn on a shell.
type queued struct {
	message *wire.Message
	abort   bool // a cell before it has failed
}

// size is what a request takes while it waits.
func (q queued) size() int {
	n := len(q.message.Content) + len(q.message.Metadata)
	for _, b := range q.message.Buffers {
		n += len(b)
	}
	return n
}

// Bounds on what waits for one shell. Where they are reached, no more is read on the channel until a request is
// answered, so that the bounds of the sockets hold for the rest. Both are choices.
const (
	mostWaiting      = 4096
	mostWaitingBytes = 256 << 20
)

// room reports whether one more request may wait. It is called with the lock held.
func (s *shell) room(size int) bool {
	return len(s.waiting) == 0 || len(s.waiting) < mostWaiting && s.bytes+size <= mostWaitingBytes
}

// add has a request wait. Where too many wait already, it waits itself, to the end of the context at the latest. It
// reports whether the shell is still there.
func (s *shell) add(ctx context.Context, q queued) bool {
	defer context.AfterFunc(ctx, s.wake)()
	s.mu.Lock()
	defer s.mu.Unlock()
	for !s.deleted && !s.room(q.size()) && ctx.Err() == nil {
		s.changed.Wait()
	}
	if s.deleted {
		return false
	}
	s.waiting = append(s.waiting, q)
	s.bytes += q.size()
	s.changed.Broadcast()
	return true
}

// next takes the first request that waits; ok is false at the end of the context, and of a deleted subshell when
// nothing waits any more.
func (s *shell) next(ctx context.Context) (q queued, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for len(s.waiting) == 0 && !s.deleted && ctx.Err() == nil {
		s.changed.Wait()
	}
	if len(s.waiting) == 0 || ctx.Err() != nil {
		return queued{}, false
	}
	q = s.waiting[0]
	s.waiting = s.waiting[1:]
	s.bytes -= q.size()
	s.changed.Broadcast()
	return q, true
}

// wake has who waits look again.
func (s *shell) wake() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.changed.Broadcast()
}

// delete ends a subshell: what waits is still answered.
func (s *shell) delete() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.deleted = true
	s.changed.Broadcast()
}

// sort receives what comes in on shell and hands each request to its line.
func (k *Kernel) sort() error {
	for {
		_, m, err := k.Sockets.Receive(k.quitting, transport.Shell)
		switch {
		case k.quitting.Err() != nil:
			return nil
		case err != nil:
			return fmt.Errorf("%s: %w", transport.Shell, err)
		}
		to := k.line(m.Header.Subshell)
		if to == nil || !to.add(k.quitting, queued{message: m}) {
			// Of a subshell that is gone nobody answers but this line, and at once.
			k.dispatch(&request{Message: m, channel: transport.Shell, gone: true})
		}
	}
}

// serve serves one line, one request after another.
func (k *Kernel) serve(s *shell) {
	defer context.AfterFunc(k.quitting, s.wake)()
	for {
		q, ok := s.next(k.quitting)
		if !ok {
			return
		}
		if s == k.main {
			k.rest.Stop()
		}
		k.dispatch(&request{Message: q.message, channel: transport.Shell, shell: s, abort: q.abort})
		if s == k.main {
			k.rest.Reset(restAfter)
		}
	}
}
