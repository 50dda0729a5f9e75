package transport

import (
	"context"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"wedgework/kernel/wire"
)

// journal collects what the sockets log.
type journal struct {
	mu    sync.Mutex
	lines []string
}

func (j *journal) write(line string) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.lines = append(j.lines, line)
}

func (j *journal) has(part string) bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	for _, l := range j.lines {
		if strings.Contains(l, part) {
			return true
		}
	}
	return false
}

// all returns the lines so far.
func (j *journal) all() []string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return slices.Clone(j.lines)
}

// subscriptions counts the peers that have subscribed, and what they subscribe to.
func subscriptions(s *Sockets) (peers, topics int) {
	s.publisher.mu.Lock()
	defer s.publisher.mu.Unlock()
	for p := range s.publisher.subscribers {
		peers++
		topics += len(p.topics)
	}
	return peers, topics
}

// subscribed waits until a number of peers have subscribed.
func subscribed(t testing.TB, s *Sockets, n int) {
	t.Helper()
	eventually(t, "all subscribe", func() bool { peers, _ := subscriptions(s); return peers == n })
}

// eventually waits until a condition holds.
func eventually(t testing.TB, what string, holds func() bool) {
	t.Helper()
	for end := time.Now().Add(patience); !holds(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("not within %v: %s", patience, what)
		}
	}
}

// open opens sockets in this process, and closes them at the end of the test.
func open(t testing.TB, c wire.Connection, o Options) (*Sockets, *journal) {
	t.Helper()
	j := &journal{}
	if o.Log == nil {
		o.Log = j.write
	}
	s, err := Open(c, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close(context.Background()) })
	return s, j
}

func connect(t testing.TB, s *Sockets, channel Channel, identity string) *raw {
	t.Helper()
	r, err := join(s.Connection(), channel, identity)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	return r
}

func receive(t testing.TB, s *Sockets, from ...Channel) (Channel, *wire.Message) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	channel, m, err := s.Receive(ctx, from...)
	if err != nil {
		t.Fatal(err)
	}
	return channel, m
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// reply answers a request on a channel.
func reply(t testing.TB, s *Sockets, channel Channel, request *wire.Message, msgType string) error {
	t.Helper()
	m, err := wire.NewAuthor("kernel").Reply(request, msgType, map[string]any{"to": request.Header.ID})
	must(t, err)
	return s.Send(channel, m)
}

// holdings is how many goroutines and descriptors this process has.
func holdings(t testing.TB) (goroutines, descriptors int) {
	t.Helper()
	if runtime.GOOS == "linux" {
		fds, err := os.ReadDir("/proc/self/fd")
		must(t, err)
		descriptors = len(fds)
	}
	return runtime.NumGoroutine(), descriptors
}

// leaves checks that f ends with the goroutines and descriptors it began with.
func leaves(t testing.TB, f func()) {
	t.Helper()
	goroutines, descriptors := settled(t)
	f()
	eventually(t, "goroutines and descriptors are as many as before", func() bool {
		g, d := holdings(t)
		return g <= goroutines && d <= descriptors
	})
}

// settled waits until what is held has been the same for a tenth of a second, and returns it: a connection that was just
// made goes on starting what serves it.
func settled(t testing.TB) (goroutines, descriptors int) {
	t.Helper()
	goroutines, descriptors = holdings(t)
	for same := 0; same < 10; same++ {
		time.Sleep(10 * time.Millisecond)
		if g, d := holdings(t); g != goroutines || d != descriptors {
			goroutines, descriptors, same = g, d, -1
		}
	}
	return goroutines, descriptors
}
