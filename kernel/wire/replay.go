package wire

import (
	"crypto/sha256"
	"sync"
)

// digest is the signature of a message in bytes.
type digest [sha256.Size]byte

// remembered is how many signatures are kept. It is a choice: two days of a busy client, in 6 MB when full.
// The client library keeps as many. A message older than that could be played again by someone who
// can already read the connection.
const remembered = 1 << 16

// memory knows the signatures that have been accepted, up to a number of them, and forgets the oldest
// first. The zero value with a limit is ready; it grows as needed.
type memory struct {
	limit int

	mu    sync.Mutex
	known map[digest]struct{}
	order []digest // a ring once it is full
	next  int      // the oldest entry of a full ring
}

// add remembers d, and reports whether it is new.
func (m *memory) add(d digest) bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, seen := m.known[d]; seen {
		return false
	}
	if m.known == nil {
		m.known = map[digest]struct{}{}
	}
	m.known[d] = struct{}{}
	if len(m.order) < m.limit {
		m.order = append(m.order, d)
		return true
	}
	delete(m.known, m.order[m.next])
	m.order[m.next] = d
	m.next = (m.next + 1) % m.limit
	return true
}
