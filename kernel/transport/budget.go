package transport

import "sync/atomic"

// budget is the memory that incoming messages may take together.
type budget struct {
	limit int64
	drawn atomic.Int64
}

// draw takes n bytes, or reports that they are not there.
func (b *budget) draw(n int64) bool {
	if b.drawn.Add(n) <= b.limit {
		return true
	}
	b.drawn.Add(-n)
	return false
}

// pay gives n bytes back.
func (b *budget) pay(n int64) { b.drawn.Add(-n) }
