package kernel

import (
	"time"

	"wedgework/reports/notebook"
)

// window is how long what a client sent in one go may take to come in. A choice: the requests of "run all" follow
// each other within a millisecond or two.
const window = 20 * time.Millisecond

// abortQueued marks the cells that wait behind one that failed. It is called before the reply to that one: so
// everything that has come in was sent by a client that could not know. Cells of other clients still run,
// for they do not build on what failed here; so do requests of other types.
func (k *Kernel) abortQueued(failed *request) {
	select {
	case <-time.After(window):
	case <-k.quitting.Done():
	}
	line := failed.shell
	line.mu.Lock()
	defer line.mu.Unlock()
	for i, q := range line.waiting {
		if h := q.message.Header; h.Type == "execute_request" && h.Session == failed.Header.Session {
			line.waiting[i].abort = true
		}
	}
}

// abortedReply answers a cell that was not run. A status of its own would tell clients more, but the protocol has
// given it up, and some of them refuse it; without a count the prompt stays empty.
func abortedReply() map[string]any {
	return failure(&notebook.Error{
		Name:      "Aborted",
		Value:     "not run, because a cell before it failed",
		Traceback: []string{"Aborted: not run, because a cell before it failed"},
	})
}
