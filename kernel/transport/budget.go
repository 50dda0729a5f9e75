package transport

import "sync"

// budget is the memory that incoming messages may take together, counted as their bytes come in. Strangers, who have
// signed nothing yet, may take a part of it only.
type budget struct {
	limit     int64
	strangers int64 // their part of the limit

	mu    sync.Mutex
	drawn int64 // in all
	owed  int64 // by strangers
}

// draw takes n bytes, or reports that they are not there.
func (b *budget) draw(n int64, stranger bool) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.drawn+n > b.limit || stranger && b.owed+n > b.strangers {
		return false
	}
	b.drawn += n
	if stranger {
		b.owed += n
	}
	return true
}

// pay gives n bytes back.
func (b *budget) pay(n int64, stranger bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.drawn -= n
	if stranger {
		b.owed -= n
	}
}

// known takes over n bytes of a stranger who has just signed.
func (b *budget) known(n int64) {
	b.mu.Lock()
	b.owed -= n
	b.mu.Unlock()
}
