package transport

import (
	"net"
	"strings"
	"syscall"
	"testing"
	"time"
)

func TestMaxPeers(t *testing.T) {
	s, j := open(t, onTCP(), Options{MaxPeers: 3})
	var peers []*raw
	for range 3 {
		peers = append(peers, connect(t, s, Shell, ""))
	}
	if r, err := join(s.Connection(), Shell, ""); err == nil {
		r.Close()
		t.Error("a fourth peer is served")
	}
	// The peer is turned away before it is said.
	eventually(t, "the log says so", func() bool { return j.has("shell: more than 3 connections, one refused") })
	connect(t, s, Control, "") // each channel counts for itself
	peers[0].Close()
	eventually(t, "a place is free again", func() bool {
		r, err := join(s.Connection(), Shell, "")
		if err == nil {
			r.Close()
		}
		return err == nil
	})
}

// Who connects again and again to send garbage does not fill the log.
func TestLogOfBrokenConnections(t *testing.T) {
	s, j := open(t, onTCP(), Options{})
	for range 100 {
		r, err := dial(s.Connection(), Shell)
		must(t, err)
		defer r.Close()
		r.Write([]byte("GET / HTTP/1.1"))
		must(t, r.ended())
	}
	want := []string{"1", "2", "3", "4", "8", "16", "32", "64"}
	eventually(t, "the log holds them", func() bool { return len(j.all()) >= len(want) })
	for i, line := range j.all() {
		if i >= len(want) || !strings.HasSuffix(line, "closed: not a ZeroMQ peer: the first byte is 0x47 ("+want[i]+" so far)") {
			t.Errorf("line %d of the log is %q", i+1, line)
		}
	}
}

func TestHandshakeDeadline(t *testing.T) {
	s, j := open(t, onTCP(), Options{Handshake: 10 * time.Millisecond})
	for _, words := range [][]byte{nil, hello()[:30], hello()} {
		r, err := dial(s.Connection(), Shell)
		must(t, err)
		defer r.Close()
		r.Write(words)
		must(t, r.ended())
	}
	eventually(t, "the log says so", func() bool { return j.has("no handshake within 10ms") })
	// Later on a peer may be silent for as long as it likes, but not in the middle of a message.
	s, j = open(t, onTCP(), Options{Stall: 20 * time.Millisecond})
	quiet, stuck := connect(t, s, Shell, ""), connect(t, s, Shell, "")
	must(t, quiet.send(request("s", "1", 1)...))
	receive(t, s)
	stuck.Write([]byte{1, 200, 'x'})
	must(t, stuck.ended())
	eventually(t, "the log says so", func() bool { return j.has("i/o timeout") })
	must(t, quiet.send(request("s", "2", 1)...))
	receive(t, s)
}

// failing is a listener that fails a number of times before it works, as when descriptors are short.
type failing struct {
	net.Listener
	times int
	calls chan time.Time
}

func (f *failing) Accept() (net.Conn, error) {
	f.calls <- time.Now()
	if f.times > 0 {
		f.times--
		return nil, &net.OpError{Op: "accept", Err: syscall.EMFILE}
	}
	return f.Listener.Accept()
}

func TestAcceptBacksOff(t *testing.T) {
	const times = 4
	calls := make(chan time.Time, 100)
	s, j := open(t, onTCP(), Options{listen: func(network, address string) (net.Listener, error) {
		l, err := net.Listen(network, address)
		return &failing{l, times, calls}, err
	}})
	connect(t, s, Shell, "").Close() // served in the end
	s.Close(t.Context())
	if lines := j.all(); len(lines) != channels {
		t.Errorf("%d lines in the log, want one a channel: %q", len(lines), lines)
	}
	close(calls)
	var first, last time.Time
	for at := range calls {
		if first.IsZero() {
			first = at
		}
		last = at
	}
	// The pauses double: 5, 10, 20 and 40 ms. A timer may be late but not early.
	if got, want := last.Sub(first), firstPause*(1<<times-1); got < want {
		t.Errorf("%d failures took %v, want at least %v", times, got, want)
	}
}

// panics is a connection that breaks the library from within.
type panics struct{ net.Conn }

func (panics) Read([]byte) (int, error) { panic("a fault in the library") }

type panicking struct{ net.Listener }

func (p panicking) Accept() (net.Conn, error) {
	c, err := p.Listener.Accept()
	if err != nil {
		return nil, err
	}
	return panics{c}, nil
}

// Whatever else may be wrong in the library ends a connection, not the process.
func TestPanicEndsOneConnection(t *testing.T) {
	s, j := open(t, onTCP(), Options{listen: func(network, address string) (net.Listener, error) {
		l, err := net.Listen(network, address)
		return panicking{l}, err
	}})
	r, err := dial(s.Connection(), Shell)
	must(t, err)
	defer r.Close()
	must(t, r.ended())
	eventually(t, "it is logged", func() bool { return j.has("the socket library failed: a fault in the library") })
}
