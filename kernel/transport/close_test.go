package transport

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"wedgework/kernel/wire"
)

// bulk is a message with an id and size bytes of text.
func bulk(t testing.TB, id string, size int) *wire.Message {
	t.Helper()
	content, err := wire.JSON(map[string]any{"text": string(bytes.Repeat([]byte("x"), size))})
	must(t, err)
	return &wire.Message{Header: wire.Header{ID: id, Type: "stream"}, Content: content}
}

func TestCloseLeavesNothing(t *testing.T) {
	rounds := 20
	if os.Getenv("WEDGEWORK_SOAK") == "1" {
		rounds = 1000
	}
	for name, at := range map[string]func(testing.TB) wire.Connection{"tcp": func(testing.TB) wire.Connection { return onTCP() }, "ipc": onIPC} {
		t.Run(name, func(t *testing.T) {
			c := at(t)
			leaves(t, func() {
				for range rounds {
					s, err := Open(c, Options{})
					must(t, err)
					var peers []*raw
					for channel := range Channel(channels) {
						r, err := join(s.Connection(), channel, "me")
						must(t, err)
						peers = append(peers, r)
					}
					silent, err := dial(s.Connection(), Shell)
					must(t, err)
					must(t, peers[Shell].send(request("s", "never received", 1)...))
					for _, p := range peers { // a client closes its side when we do
						go func() { p.ended(); p.Close() }()
					}
					must(t, s.Close(context.Background()))
					must(t, s.Close(context.Background()))
					must(t, silent.ended())
					silent.Close()
					if _, _, err := s.Receive(context.Background()); !errors.Is(err, ErrClosed) {
						t.Errorf("receive after close: %v, want ErrClosed", err)
					}
				}
			})
		})
	}
}

// Peers that come and go leave nothing behind, while the sockets stay open.
func TestPeersLeaveNothing(t *testing.T) {
	s, _ := open(t, onTCP(), Options{})
	connect(t, s, Shell, "stays")
	leaves(t, func() {
		for i := range 200 {
			channel := Channel(i % channels)
			r, err := join(s.Connection(), channel, fmt.Sprint(i%3))
			must(t, err)
			switch i % 4 {
			case 0:
				r.send(request("s", fmt.Sprint(i), 10)[:4]...)
			case 1:
				r.Write([]byte{1, 200, 'x'}) // gone in the middle of a frame
			case 2:
				r.subscribe()
			}
			r.Close()
		}
	})
	eventually(t, "all are forgotten", func() bool {
		subscribers, _ := subscriptions(s)
		s.mu.Lock()
		defer s.mu.Unlock()
		d := &s.peers[Shell]
		d.mu.Lock()
		defer d.mu.Unlock()
		return len(s.links) == 1 && len(d.byToken) == 1 && len(d.byIdentity) == 1 && subscribers == 0
	})
}

// Close gives up on a peer that does not read, when its time is over, and says what was not delivered; the
// others get everything.
func TestCloseGivesUp(t *testing.T) {
	s, _ := open(t, onTCP(), Options{Drain: time.Hour})
	stalled, reader := connect(t, s, IOPub, ""), connect(t, s, IOPub, "")
	for _, r := range []*raw{stalled, reader} {
		must(t, r.subscribe())
	}
	subscribed(t, s, 2)
	const count = 200 // 20 MB, more than the system buffers
	for i := range count {
		must(t, s.Publish(bulk(t, fmt.Sprint("m", i), 100<<10)))
	}
	ctx, cancel := context.WithCancel(context.Background())
	closed := make(chan error, 1)
	go func() { closed <- s.Close(ctx) }()
	for i := range count {
		if got, err := reader.recv(); err != nil || !mentions(got, fmt.Sprint("m", i)) {
			t.Fatalf("message %d: got %.80q and %v", i, got, err)
		}
	}
	must(t, reader.ended())
	reader.Close()
	select {
	case err := <-closed:
		t.Fatalf("close does not wait for the peer that is left: %v", err)
	default:
	}
	cancel()
	if err := <-closed; err == nil || !strings.HasPrefix(err.Error(),
		"1 peers had not taken all that was sent to them") {
		t.Errorf("error %v, want one about the stalled peer", err)
	}
}
