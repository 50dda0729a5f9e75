package transport

import (
	"errors"
	"net"
	"sync"
)

var (
	errSlow      = errors.New("the peer does not read the messages sent to it")
	errFinishing = errors.New("the connection is closing")
)

// overhead is what a waiting message takes besides its bytes, so that a flood of empty ones is bounded too.
const overhead = 64

// queue holds what one peer has still to be sent. Putting something in never waits for the peer.
type queue struct {
	conn  net.Conn
	limit int64
	done  chan struct{} // closed when run has returned

	mu      sync.Mutex
	wake    sync.Cond
	waiting net.Buffers
	size    int64 // of what waits and of what is being written, with overhead
	ending  bool
	err     error
}

func newQueue(conn net.Conn, limit int64) *queue {
	q := &queue{conn: conn, limit: limit, done: make(chan struct{})}
	q.wake.L = &q.mu
	return q
}

// push puts chunks of size bytes at the end of the queue, which owns them from then on. A message of any
// size is let in when no more than the limit waits before it, as a large one may follow at once on small ones. A
// peer that lets more pile up is disconnected, for to leave out a message would make it wait for an answer
// that never comes.
func (q *queue) push(chunks [][]byte, size int64) error {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.err != nil {
		return q.err
	}
	if q.ending {
		return errFinishing
	}
	if q.size > q.limit {
		q.fail(errSlow)
		return q.err
	}
	q.waiting = append(q.waiting, chunks...)
	q.size += size + overhead
	q.wake.Signal()
	return nil
}

// fail is called with the lock held. The reader of the connection notices the close.
func (q *queue) fail(err error) {
	q.err, q.waiting = err, nil
	q.conn.Close()
	q.wake.Signal()
}

// run writes what is pushed until the queue fails, or is finished and empty; then it tells the peer that
// nothing more will come. It does not close the connection.
func (q *queue) run() {
	defer close(q.done)
	var spare net.Buffers
	for {
		q.mu.Lock()
		for len(q.waiting) == 0 && !q.ending && q.err == nil {
			q.wake.Wait()
		}
		if q.err != nil || len(q.waiting) == 0 {
			failed := q.err != nil
			q.mu.Unlock()
			if half, ok := q.conn.(interface{ CloseWrite() error }); ok && !failed {
				half.CloseWrite()
			}
			return
		}
		writing, size := q.waiting, q.size
		q.waiting = spare[:0]
		q.mu.Unlock()

		rest := writing
		_, err := rest.WriteTo(q.conn) // clears the chunks as it goes
		spare = writing

		q.mu.Lock()
		q.size -= size
		if err != nil && q.err == nil {
			q.fail(err)
		}
		q.mu.Unlock()
	}
}

// finish lets nothing more in; run returns when the rest is written.
func (q *queue) finish() {
	q.mu.Lock()
	q.ending = true
	q.wake.Signal()
	q.mu.Unlock()
}

// left is how many bytes have not been written, overhead included.
func (q *queue) left() int64 {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.size
}
