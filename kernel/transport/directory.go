package transport

import (
	"encoding/binary"
	"slices"
	"sync"
)

// ticket is how long the number is that a token starts with.
const ticket = 8

// token makes the frame by which a peer is known to us: a number no other connection has, then the identity that
// the peer gave itself. With the identity alone two peers that claim the same one would both get an answer
// to what one of them asked, and could not be told apart.
func token(number uint64, identity string) string {
	return string(binary.BigEndian.AppendUint64(make([]byte, 0, ticket+len(identity)), number)) + identity
}

// directory knows the peers of one channel.
type directory struct {
	mu         sync.Mutex
	byToken    map[string]*peer
	byIdentity map[string][]*peer // the newest last
}

func (d *directory) add(p *peer) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.byToken == nil {
		d.byToken, d.byIdentity = map[string]*peer{}, map[string][]*peer{}
	}
	d.byToken[p.token] = p
	if id := p.token[ticket:]; id != "" {
		d.byIdentity[id] = append(d.byIdentity[id], p)
	}
}

func (d *directory) remove(p *peer) {
	d.mu.Lock()
	defer d.mu.Unlock()
	delete(d.byToken, p.token)
	id := p.token[ticket:]
	left := slices.DeleteFunc(d.byIdentity[id], func(q *peer) bool { return q == p })
	if len(left) == 0 {
		delete(d.byIdentity, id)
	} else {
		d.byIdentity[id] = left
	}
}

// find returns the peer that a token names. When that connection is not here, because the client has
// reconnected or because the token comes from another channel, it is the newest one with the same identity: clients
// use one identity for shell and stdin. It returns nil when there is none.
func (d *directory) find(token []byte) *peer {
	d.mu.Lock()
	defer d.mu.Unlock()
	if p := d.byToken[string(token)]; p != nil || len(token) <= ticket {
		return p
	}
	if same := d.byIdentity[string(token[ticket:])]; len(same) > 0 {
		return same[len(same)-1]
	}
	return nil
}
