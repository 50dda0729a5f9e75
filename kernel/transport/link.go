package transport

import (
	"fmt"
	"net"
	"sync/atomic"
	"time"
)

// link is a connection as the others see it: what it is worth when there is no room for all.
type link struct {
	conn    net.Conn
	channel Channel
	number  uint64
	peer    *peer // nil in the handshake
	away    bool  // it has given way and counts no more

	signed atomic.Bool  // it has sent a message with a valid signature
	heard  atomic.Bool  // it has sent a message, a subscription or a heartbeat
	held   atomic.Int64 // bytes drawn for its message that is coming in
}

// giveWay closes the connection of a channel that is worth least, and reports whether there was one. One that has
// signed stays. Of the rest, those of other users of the machine go first, where the system tells; then those that have
// not finished the handshake, and those that have said nothing, the oldest first; then the newest of those that have
// subscribed or sent a heartbeat, which cannot be signed: an old one is more likely that of the front end at work. It
// is called with the lock held.
func (s *Sockets) giveWay(channel Channel) bool {
	users := usersOf(s.listeners[channel])
	var worst *link
	var least standing
	for _, l := range s.links {
		if l.channel != channel || l.away || l.signed.Load() {
			continue
		}
		st := standing{known: !users.foreign(l.conn), shaken: l.peer != nil, heard: l.heard.Load(), number: l.number}
		if worst == nil || st.below(least) {
			worst, least = l, st
		}
	}
	if worst == nil {
		return false
	}
	worst.away = true
	s.count[channel]--
	worst.conn.Close()
	return true
}

// standing is what is known of a connection that has signed nothing.
type standing struct {
	known, shaken, heard bool
	number               uint64 // connections are numbered as they come
}

func (a standing) below(b standing) bool {
	switch {
	case a.known != b.known:
		return !a.known
	case a.shaken != b.shaken:
		return !a.shaken
	case a.heard != b.heard:
		return !a.heard
	case a.heard:
		return a.number > b.number
	}
	return a.number < b.number
}

// Room for a message is waited for so long, while strangers that hold more give theirs back.
const (
	roomTries = 200
	roomPause = 5 * time.Millisecond
)

// room draws n bytes for a message that is coming in on l. Where strangers have taken all that is theirs, the one that
// holds most gives way.
func (s *Sockets) room(l *link, n int64) bool {
	for range roomTries {
		stranger := !l.signed.Load()
		if s.funds.draw(n, stranger) {
			l.held.Add(n)
			return true
		}
		if !stranger || !s.greatest(l) {
			return false
		}
		select {
		case <-time.After(roomPause):
		case <-s.closing:
			return false
		}
	}
	return false
}

// greatest closes the stranger that holds most, and reports whether that was another than l.
func (s *Sockets) greatest(l *link) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	worst := l
	for _, other := range s.links {
		if !other.signed.Load() && other.held.Load() > worst.held.Load() {
			worst = other
		}
	}
	if worst == l {
		return false
	}
	worst.conn.Close()
	return true
}

// spent gives back what the last message of l has drawn, and returns how much it was.
func (s *Sockets) spent(l *link) { s.funds.pay(l.held.Swap(0), !l.signed.Load()) }

// admitted notes that l has signed a message, and returns what that has drawn: its reader has to pay for it from now
// on.
func (s *Sockets) admitted(l *link) int64 {
	n := l.held.Swap(0)
	if l.signed.CompareAndSwap(false, true) {
		s.funds.known(n)
	}
	return n
}

// wayGiven logs that a connection has given way: the first few of a channel, then ever fewer.
func (s *Sockets) wayGiven(channel Channel, n int64) {
	if worthALine(n) {
		s.options.Log(fmt.Sprintf("%s: more than %d connections; one without a signed message was closed (%d so far)",
			channel, s.options.MaxPeers, n))
	}
}
