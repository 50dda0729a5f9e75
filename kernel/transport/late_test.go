package transport

import (
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"wedgework/kernel/wire"
)

// A late subscriber gets what it missed of its own first requests, and nothing else.
func TestLate(t *testing.T) {
	var now atomic.Int64
	s, _ := open(t, onTCP(), Options{Late: 2 * time.Second, now: func() time.Time { return time.Unix(0, now.Load()) }})
	pass := func(d time.Duration) { now.Add(int64(d)) }
	shell := connect(t, s, Shell, "")
	hear := func(session string) {
		t.Helper()
		must(t, shell.send(request(session, fmt.Sprint(session, now.Load()), 1)...))
		receive(t, s)
	}
	publish := func(session, id string) {
		t.Helper()
		must(t, s.Publish(&wire.Message{Header: wire.Header{ID: id, Type: "status"}, Parent: wire.Header{ID: "p",
			Session: session}}))
	}
	// subscriber is one whose subscription is in force; sees checks what it has had so far.
	subscriber := func() *raw {
		t.Helper()
		r := connect(t, s, IOPub, "")
		must(t, r.subscribe())
		must(t, r.send([]byte("\x01status"))) // a second subscription repeats nothing
		must(t, r.command([]byte("\x04PING\x00\x00")))
		return r
	}
	sees := func(r *raw, want ...string) {
		t.Helper()
		publish("", "end")
		for _, id := range append(want, "end") {
			if got, err := r.recv(); err != nil || !mentions(got, id) {
				t.Fatalf("got %q and %v, want %s", got, err, id)
			}
		}
	}
	await := func(n int) {
		t.Helper()
		eventually(t, "the subscriptions are in force", func() bool {
			_, topics := subscriptions(s)
			return topics == 2*n
		})
	}

	publish("", "starting")
	publish("unheard", "nobody's")
	hear("a")
	publish("a", "busy a")
	pass(time.Second)
	publish("a", "idle a")
	first := subscriber()
	await(1)
	sees(first, "starting", "busy a", "idle a")

	// For one that comes later: what no request caused was not missed, and the beginning of a is too old.
	publish("", "event")
	pass(1500 * time.Millisecond)
	hear("b")
	publish("b", "busy b")
	publish("a", "output a") // a is not new any more
	second := subscriber()
	await(2)
	sees(second, "busy b")
	sees(first, "event", "busy b", "output a", "end") // that of second, which it got as well

	// Everything is forgotten in time.
	pass(5 * time.Second)
	hear("a")
	publish("a", "old session")
	third := subscriber()
	await(3)
	sees(third)
	s.publisher.mu.Lock()
	defer s.publisher.mu.Unlock()
	if len(s.publisher.kept) != 0 || s.publisher.bytes != 0 {
		t.Errorf("%d messages and %d bytes kept, want none", len(s.publisher.kept), s.publisher.bytes)
	}
}

func TestLateIsBounded(t *testing.T) {
	now := time.Unix(0, 0)
	b := newPublisher(time.Second, func() time.Time { return now })
	for i := range 3 * mostSessions {
		now = now.Add(time.Microsecond)
		b.hear(fmt.Sprint(i))
		b.publish([][]byte{[]byte("topic"), make([]byte, 1<<(i%22))}, fmt.Sprint(i))
		if len(b.kept) > keptMessages || b.bytes > keptBytes || len(b.heard) > mostSessions {
			t.Fatalf("%d messages, %d bytes, %d sessions", len(b.kept), b.bytes, len(b.heard))
		}
	}
	if _, known := b.heard[fmt.Sprint(3*mostSessions-1)]; !known {
		t.Error("the newest session is forgotten")
	}
	if _, known := b.heard["0"]; known {
		t.Error("the oldest session is remembered")
	}
}
