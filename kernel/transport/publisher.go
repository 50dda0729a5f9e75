package transport

import (
	"strings"
	"sync"
	"time"
)

// Bounds on what is kept for late subscribers, and on what a subscriber may ask for: choices. A client
// that has just connected has missed a status or two.
const (
	keptMessages = 256
	keptBytes    = 1 << 20
	mostSessions = 1024
	mostTopics   = 256
	longestTopic = 255
)

// publisher sends messages to the peers that subscribe to them.
//
// A client connects shell and iopub at the same time and asks on shell at once. Where its subscription comes
// in second it would miss what its first request caused, the busy and idle by which clients of protocol
// 5.3 tell that iopub works; they would ask again until it fits. So a new subscriber gets first what was
// published a moment ago about requests of sessions that are new themselves. A client that reconnects has an old
// session, and so is not told anything twice.
type publisher struct {
	late    time.Duration
	now     func() time.Time
	welcome func(topic string) [][]byte // what greets a subscription; nil: nothing

	mu          sync.Mutex
	subscribers map[*peer]struct{}
	anyone      bool // there has been a subscriber
	kept        []kept
	bytes       int
	heard       map[string]time.Time // sessions, by when their first request came
}

type kept struct {
	at      time.Time
	session string // of the request; empty when no request caused it
	frames  [][]byte
	size    int
}

func newPublisher(late time.Duration, now func() time.Time) *publisher {
	return &publisher{late: late, now: now, subscribers: map[*peer]struct{}{}, heard: map[string]time.Time{}}
}

// publish queues a message for every subscriber of its first frame. Session is that of the request it is about.
func (b *publisher) publish(frames [][]byte, session string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.keep(frames, session)
	for p := range b.subscribers {
		if p.subscribes(string(frames[0])) {
			p.send(frames) // a failure shows at the reader, which logs it
		}
	}
}

// keep remembers a message for late subscribers.
func (b *publisher) keep(frames [][]byte, session string) {
	now := b.now()
	b.forget(now)
	size := 0
	for _, f := range frames {
		size += len(f)
	}
	if size > keptBytes || !b.fresh(session, now) {
		return
	}
	b.kept = append(b.kept, kept{now, session, frames, size})
	b.bytes += size
	for len(b.kept) > keptMessages || b.bytes > keptBytes {
		b.drop()
	}
}

// forget drops what is too old to be missed.
func (b *publisher) forget(now time.Time) {
	for len(b.kept) > 0 && now.Sub(b.kept[0].at) > b.late {
		b.drop()
	}
}

func (b *publisher) drop() {
	b.bytes -= b.kept[0].size
	b.kept[0] = kept{}
	b.kept = b.kept[1:]
}

// fresh reports whether a session is so new that its subscription may still be on its way. What no
// request caused is kept until there has been a subscriber.
func (b *publisher) fresh(session string, now time.Time) bool {
	if session == "" {
		return !b.anyone
	}
	first, known := b.heard[session]
	return known && now.Sub(first) <= b.late
}

// hear notes that a request of a session came in.
func (b *publisher) hear(session string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, known := b.heard[session]; known {
		return
	}
	if len(b.heard) >= mostSessions {
		oldest, at := "", b.now()
		for s, t := range b.heard {
			if !t.After(at) {
				oldest, at = s, t
			}
		}
		delete(b.heard, oldest)
	}
	b.heard[session] = b.now()
}

// subscription acts on a message from a subscriber: a byte 1 or 0 and the topic to begin or end. It reports
// whether the message is one.
func (b *publisher) subscription(p *peer, frames [][]byte) bool {
	if len(frames) != 1 || len(frames[0]) == 0 || len(frames[0]) > 1+longestTopic || frames[0][0] > 1 {
		return false
	}
	topic := string(frames[0][1:])
	b.mu.Lock()
	defer b.mu.Unlock()
	if frames[0][0] == 0 {
		delete(p.topics, topic)
		return true
	}
	if len(p.topics) >= mostTopics {
		return false
	}
	if p.topics == nil {
		p.topics = map[string]struct{}{}
	}
	_, again := p.topics[topic]
	p.topics[topic] = struct{}{}
	b.subscribers[p] = struct{}{}
	if b.welcome != nil && !again {
		if frames := b.welcome(topic); frames != nil {
			p.send(frames)
		}
	}
	if !p.welcomed {
		p.welcomed = true
		now := b.now()
		b.forget(now)
		for _, k := range b.kept {
			if b.fresh(k.session, now) && p.subscribes(string(k.frames[0])) {
				p.send(k.frames)
			}
		}
		b.anyone = true
	}
	return true
}

// leave forgets a subscriber.
func (b *publisher) leave(p *peer) {
	b.mu.Lock()
	defer b.mu.Unlock()
	delete(b.subscribers, p)
}

// subscribes is called with the publisher's lock held.
func (p *peer) subscribes(topic string) bool {
	if _, all := p.topics[""]; all {
		return true
	}
	for t := range p.topics {
		if strings.HasPrefix(topic, t) {
			return true
		}
	}
	return false
}
