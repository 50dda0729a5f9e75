package transport

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"

	"wedgework/kernel/wire"
)

var bareFlag = flag.Bool("bare", false, "show that the sockets of the bare library fail the tests of what ours stand")

// row is one thing that the transport stands and the library alone does not.
type row struct {
	name  string
	bare  string // what the sockets of the library do, in version 0.17.0
	check func(t *testing.T, s *server) error
	linux bool // it looks at the process in ways other systems do not know
}

var rows = []row{
	{"a DEALER that stops reading",
		"every other peer and every new connection is blocked", stalledDealer, false},
	{"a SUB that stops reading",
		"the other subscribers get nothing more", stalledSubscriber, false},
	{"a peer silent in the handshake",
		"no new connection is served, as they are accepted one after another", silentPeers, false},
	{"a frame of 2^50 bytes",
		"the process dies of makeslice: len out of range", absurdFrame(1 << 50), false},
	{"a frame of 64 GiB",
		"the process dies of running out of memory, or holds 64 GiB", absurdFrame(64 << 30), false},
	{"a READY property that ends early",
		"the process dies of slice bounds out of range", badReady("\x0bSocket-Type\x00\x00\x00"), false},
	{"a READY property with a length beyond the command",
		"the peer is refused, and its connection stays open for good", badReady("\xffSocket-Type"), false},
	{"a READY without a socket type",
		"the process dies of a panic: unknown socket-type", badReady("\x08Identity\x00\x00\x00\x01a"), false},
	{"a READY with an unknown socket type",
		"the process dies of a panic: unknown socket-type", badReady("\x0bSocket-Type\x00\x00\x00\x03ABC"), false},
	{"no descriptors left",
		"the accept loop spins, and takes a whole core", exhaustion, true},
	{"heartbeats of the protocol",
		"a PING is handed on as a message, and the peer disconnects for want of a PONG", pings, false},
	{"published just before the end",
		"some or all messages are lost, for nothing waits until they are sent", lastMessages, false},
	{"a subscriber that comes after its first request",
		"what was published before is lost, and the socket cannot tell that a subscriber came", lateSubscriber, false},
	{"two peers with one identity",
		"both get what one of them asked for", twins, false},
}

// TestStands runs every row on our sockets, over tcp and ipc. The process must live on and end well.
func TestStands(t *testing.T) {
	for _, r := range rows {
		for _, c := range []struct {
			name string
			at   func(testing.TB) wire.Connection
		}{{"tcp", func(testing.TB) wire.Connection { return onTCP() }}, {"ipc", onIPC}} {
			t.Run(r.name+"/"+c.name, func(t *testing.T) {
				if r.linux && runtime.GOOS != "linux" {
					t.Skip("looks at the process in the way of Linux")
				}
				s, err := start(t, "ours", c.at(t))
				if err != nil {
					t.Fatal(err)
				}
				before := s.holdings(t)
				if err := r.check(t, s); err != nil {
					t.Error(err)
				}
				if s.over {
					return
				}
				eventually(t, "goroutines and descriptors are as many as before", func() bool {
					return s.holdings(t) == before
				})
				if err := askAnew(s.Connection, "after"); err != nil {
					t.Errorf("afterwards: %v", err)
				}
				if err := s.end(); err != nil {
					t.Error(err)
				}
			})
		}
	}
}

// TestBareLibrary shows that the rows are needed: the sockets of the library fail each of them. It takes a
// while, as most of them fail by waiting.
func TestBareLibrary(t *testing.T) {
	if !*bareFlag {
		t.Skip("run with -bare to see what the library alone does")
	}
	for _, r := range rows {
		t.Run(r.name, func(t *testing.T) {
			s, err := start(t, "bare", onTCP())
			if err != nil {
				t.Fatal(err)
			}
			err = r.check(t, s)
			if err == nil && !s.over {
				err = askAnew(s.Connection, "after")
			}
			if err == nil {
				t.Fatalf("the library stands this; the row says: %s", r.bare)
			}
			t.Logf("%v\nthe row says: %s", err, r.bare)
			if !s.over {
				s.cmd.Process.Kill()
				s.end()
				if log := s.log(); strings.Contains(log, "panic") || strings.Contains(log, "fatal") {
					t.Logf("it died: %.200s", log)
				}
			}
		})
	}
}

// holdings is how many goroutines and descriptors the server has, where that can be told.
func (s *server) holdings(t *testing.T) string {
	t.Helper()
	if runtime.GOOS != "linux" {
		return ""
	}
	answer, err := s.tell("holdings")
	must(t, err)
	return answer
}

// stalledDealer has one peer ask for 20 MB, which is more than the system buffers, and read nothing.
func stalledDealer(t *testing.T, s *server) error {
	witness, err := join(s.Connection, Shell, "witness")
	if err != nil {
		return err
	}
	defer witness.Close()
	if err := witness.ask("w", "before"); err != nil {
		return err
	}
	stalled, err := join(s.Connection, Shell, "stalled")
	if err != nil {
		return err
	}
	defer stalled.Close()
	sent := make(chan error, 1)
	go func() {
		for i := range 200 {
			if err := stalled.send(request("stalled", fmt.Sprint("big", i), 100<<10)...); err != nil {
				sent <- err
				return
			}
		}
		sent <- nil
	}()
	select {
	case err := <-sent:
		if err != nil {
			return fmt.Errorf("the requests are not taken in: %w", err)
		}
	case <-time.After(patience):
		return errors.New("the requests are not taken in")
	}
	if err := witness.ask("w", "while stalled"); err != nil {
		return err
	}
	return askAnew(s.Connection, "new while stalled")
}

// stalledSubscriber publishes 20 MB to one that reads and one that does not.
func stalledSubscriber(t *testing.T, s *server) error {
	stalled, err := join(s.Connection, IOPub, "")
	if err != nil {
		return err
	}
	defer stalled.Close()
	reader, err := join(s.Connection, IOPub, "")
	if err != nil {
		return err
	}
	defer reader.Close()
	for _, r := range []*raw{stalled, reader} {
		if err := r.subscribed(s); err != nil {
			return err
		}
	}
	const count, size = 200, 100 << 10
	if _, err := s.tell(fmt.Sprintf("publish %d of %d", count, size)); err != nil {
		return err
	}
	for i := range count {
		if err := reader.nextOutput(size); err != nil {
			return fmt.Errorf("message %d of %d: %w", i+1, count, err)
		}
	}
	return nil
}

// subscribed subscribes, and has a message published until it arrives: the subscription is in force then.
func (r *raw) subscribed(s *server) error {
	if err := r.subscribe(); err != nil {
		return err
	}
	arrived := make(chan error, 1)
	go func() { arrived <- r.nextOutput(1) }()
	for {
		if _, err := s.tell("publish 1 of 1"); err != nil {
			return err
		}
		select {
		case err := <-arrived:
			return err
		case <-time.After(10 * time.Millisecond):
		}
	}
}

// nextOutput reads up to the next output with a text of size bytes.
func (r *raw) nextOutput(size int) error {
	for {
		frames, err := r.recv()
		if err != nil {
			return err
		}
		if string(frames[0]) == "stream" && len(frames[len(frames)-1]) >= size {
			return nil
		}
	}
}

// silentPeers connect and say nothing, half a greeting, a greeting only, and something of another protocol.
func silentPeers(t *testing.T, s *server) error {
	for _, words := range [][]byte{nil, hello()[:11], hello(), []byte("GET / HTTP/1.1\r\n\r\n")} {
		r, err := dial(s.Connection, Shell)
		if err != nil {
			return err
		}
		defer r.Close()
		r.Write(words)
	}
	return askAnew(s.Connection, "beside silent peers")
}

// absurdFrame announces a frame that nobody will ever send.
func absurdFrame(size uint64) func(*testing.T, *server) error {
	return func(t *testing.T, s *server) error {
		for _, channel := range []Channel{Shell, IOPub, Heartbeat} {
			r, err := join(s.Connection, channel, "")
			if err != nil {
				return err
			}
			defer r.Close()
			head := []byte{2, byte(size >> 56), byte(size >> 48), byte(size >> 40), byte(size >> 32), byte(size >> 24),
				byte(size >> 16), byte(size >> 8), byte(size)}
			r.Write(append(head, "the first bytes of it"...))
			if err := r.ended(); err != nil {
				return fmt.Errorf("%s: %w", channel, err)
			}
		}
		return askAnew(s.Connection, "after an absurd frame")
	}
}

// badReady sends properties that are none.
func badReady(properties string) func(*testing.T, *server) error {
	return func(t *testing.T, s *server) error {
		r, err := dial(s.Connection, Shell)
		if err != nil {
			return err
		}
		defer r.Close()
		r.Write(hello())
		r.command([]byte("\x05READY" + properties))
		if err := r.ended(); err != nil {
			return err
		}
		return askAnew(s.Connection, "after a bad READY")
	}
}

// exhaustion lets more peers connect than the process has descriptors for.
func exhaustion(t *testing.T, s *server) error {
	if _, err := s.tell("descriptors 40"); err != nil {
		return err
	}
	var peers []*raw
	for range 60 { // what is not accepted waits in the system's queue
		r, err := dial(s.Connection, Heartbeat)
		if err != nil {
			return err
		}
		defer r.Close()
		r.Write(hello())
		r.command(readyBody("REQ", ""))
		peers = append(peers, r)
	}
	const window = 500 * time.Millisecond
	before, err := s.processor()
	if err != nil {
		return err
	}
	time.Sleep(window)
	after, err := s.processor()
	if err != nil {
		return err
	}
	// A loop that spins takes all of the window, less where the machine is busy; one that waits takes next to nothing.
	if spent := after - before; spent > window/5 {
		return fmt.Errorf("%v of processor time spent within %v on accepting nothing", spent, window)
	}
	for _, r := range peers {
		r.Close()
	}
	return askAnew(s.Connection, "after exhaustion")
}

func (s *server) processor() (time.Duration, error) {
	answer, err := s.tell("processor")
	if err != nil {
		return 0, err
	}
	return time.ParseDuration(answer)
}

// pings sends what libzmq sends with heartbeats on: a time to live, and a context that must come back.
func pings(t *testing.T, s *server) error {
	for _, channel := range []Channel{Shell, IOPub} {
		r, err := join(s.Connection, channel, "")
		if err != nil {
			return err
		}
		defer r.Close()
		for _, context := range []string{"", "0123456789abcdef"} {
			if err := r.command([]byte("\x04PING\x00\x0a" + context)); err != nil {
				return err
			}
			flags, body, err := r.frame()
			if err != nil {
				return fmt.Errorf("%s: no answer to a PING: %w", channel, err)
			}
			if want := "\x04PONG" + context; flags != 4 || string(body) != want {
				return fmt.Errorf("%s: a PING is answered with flags %d and %q, want 4 and %q", channel, flags, body,
					want)
			}
		}
	}
	return askAnew(s.Connection, "beside heartbeats")
}

// lastMessages has the server publish and exit at once.
func lastMessages(t *testing.T, s *server) error {
	r, err := join(s.Connection, IOPub, "")
	if err != nil {
		return err
	}
	defer r.Close()
	if err := r.subscribed(s); err != nil {
		return err
	}
	// A peer's byte that is never read makes tcp reset the connection, unless care is taken.
	r.send([]byte("\x01unread"))
	const count, size = 200, 10 << 10
	ended := make(chan error, 1)
	go func() {
		s.tell(fmt.Sprintf("exit after %d of %d", count, size))
		ended <- s.end()
	}()
	for i := range count {
		if err := r.nextOutput(size); err != nil {
			return fmt.Errorf("%d of %d arrived: %w", i, count, err)
		}
	}
	r.Close()
	return <-ended
}

// lateSubscriber subscribes after its first request has been answered, as happens to a client that starts
// before the kernel: it must still see the status messages about that request, in order, and once.
func lateSubscriber(t *testing.T, s *server) error {
	shell, err := join(s.Connection, Shell, "")
	if err != nil {
		return err
	}
	defer shell.Close()
	if err := shell.ask("session", "first"); err != nil {
		return err
	}
	iopub, err := join(s.Connection, IOPub, "")
	if err != nil {
		return err
	}
	defer iopub.Close()
	if err := iopub.subscribe(); err != nil {
		return err
	}
	iopub.SetDeadline(time.Now().Add(2 * time.Second)) // for the library's sake, which sends nothing
	if err := statuses(iopub, "first"); err != nil {
		return err
	}
	// Nothing comes twice, neither on this connection nor to one that has been here before.
	if err := shell.ask("session", "second"); err != nil {
		return err
	}
	return statuses(iopub, "second")
}

// statuses reads the two messages about a request.
func statuses(r *raw, id string) error {
	for _, state := range []string{"busy", "idle"} {
		frames, err := r.recv()
		if err != nil {
			return fmt.Errorf("%s about %s: %w", state, id, err)
		}
		if !mentions(frames, id) || !bytes.Contains(frames[len(frames)-1], []byte(state)) {
			return fmt.Errorf("got %q, want %s about %s", frames, state, id)
		}
	}
	return nil
}

// twins are two peers that call themselves the same.
func twins(t *testing.T, s *server) error {
	a, err := join(s.Connection, Shell, "same")
	if err != nil {
		return err
	}
	defer a.Close()
	b, err := join(s.Connection, Shell, "same")
	if err != nil {
		return err
	}
	defer b.Close()
	for i := range 3 {
		if err := a.ask("a", fmt.Sprint("of a ", i)); err != nil {
			return err
		}
		if err := b.ask("b", fmt.Sprint("of b ", i)); err != nil {
			return err
		}
	}
	return nil
}
