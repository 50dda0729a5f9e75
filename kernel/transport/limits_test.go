package transport

import (
	"fmt"
	"net"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
)

// Of more connections than there may be, those that have signed stay, and one that has not gives way to who comes.
func TestMaxPeers(t *testing.T) {
	s, j := open(t, onTCP(), Options{MaxPeers: 3})
	var peers []*raw
	for i := range 3 {
		peers = append(peers, connect(t, s, Shell, ""))
		must(t, peers[i].send(request("s", fmt.Sprint(i), 1)...))
		receive(t, s)
	}
	if r, err := join(s.Connection(), Shell, ""); err == nil {
		r.Close()
		t.Error("a fourth peer is served where three have signed")
	}
	// The peer is turned away before it is said.
	eventually(t, "the log says so", func() bool { return j.has("shell: more than 3 connections, one refused") })
	connect(t, s, Control, "") // each channel counts for itself
	peers[0].Close()
	var silent *raw
	eventually(t, "a place is free again", func() bool {
		r, err := join(s.Connection(), Shell, "")
		silent = r
		return err == nil
	})
	defer silent.Close()
	fourth := connect(t, s, Shell, "")
	must(t, silent.ended())
	eventually(t, "the log says so", func() bool { return j.has("one without a signed message was closed") })
	must(t, fourth.send(request("s", "4", 1)...))
	receive(t, s)
	for i, p := range peers[1:] {
		must(t, p.send(request("s", fmt.Sprint("again", i), 1)...))
		receive(t, s)
	}
}

// Idle connections on every channel, with the handshake done, half done or not begun, do not keep a front end out.
func TestIdleConnections(t *testing.T) {
	s, _ := open(t, onTCP(), Options{MaxPeers: 32})
	for channel := range Channel(channels) {
		for i := range 50 {
			r, err := dial(s.Connection(), channel)
			must(t, err)
			defer r.Close()
			switch i % 3 {
			case 1:
				r.Write(hello()[:20])
			case 2:
				kinds := [channels]string{Control: "DEALER", Stdin: "DEALER", Shell: "DEALER", IOPub: "SUB",
					Heartbeat: "REQ"}
				r.handshake(kinds[channel], "") // it may have given way already
			}
		}
	}
	asker := connect(t, s, Shell, "")
	listener := connect(t, s, IOPub, "")
	must(t, listener.subscribe())
	must(t, asker.send(request("s", "1", 1)...))
	receive(t, s)
	beat := connect(t, s, Heartbeat, "")
	must(t, beat.send(nil, []byte("ping")))
	if _, err := beat.recv(); err != nil {
		t.Error(err)
	}
	// More of them come, and those at work stay.
	for channel := range Channel(channels) {
		for range 50 {
			r, err := dial(s.Connection(), channel)
			must(t, err)
			defer r.Close()
		}
	}
	must(t, asker.send(request("s", "2", 1)...))
	receive(t, s)
	must(t, beat.send(nil, []byte("ping")))
	if _, err := beat.recv(); err != nil {
		t.Error(err)
	}
}

// With the bounds that a kernel has: 300 that say nothing, or stop half way through the greeting, do not keep a front end
// out that signs.
func TestThreeHundredStrangers(t *testing.T) {
	s, _ := open(t, onTCP(), Options{})
	for i := range 300 {
		r, err := dial(s.Connection(), Shell)
		must(t, err)
		defer r.Close()
		switch i % 3 {
		case 1:
			r.Write(hello()[:20])
		case 2:
			r.handshake("DEALER", "") // it may have given way already
		}
	}
	asker := connect(t, s, Shell, "")
	must(t, asker.send(request("s", "1", 100_000)...))
	receive(t, s)
}

// Who announces a large message takes no room for it before it comes.
func TestAnnounced(t *testing.T) {
	s, _ := open(t, onTCP(), Options{})
	before := heapBytes()
	for range 8 {
		r := connect(t, s, Shell, "")
		r.Write([]byte{2, 0, 0, 0, 0, 0x0f, 0xff, 0xff, 0xff}) // a frame of 256 MiB
		r.Write(make([]byte, 100))
	}
	asker := connect(t, s, Shell, "")
	must(t, asker.send(request("s", "1", 100_000)...))
	receive(t, s)
	if grown := heapBytes() - before; grown > 64<<20 {
		t.Errorf("the heap has grown by %d MiB", grown>>20)
	}
}

// What strangers send and do not finish leaves room for who signs: they have a part of it only.
func TestUnfinished(t *testing.T) {
	const most = 8 << 20
	s, _ := open(t, onTCP(), Options{MaxInbound: most})
	for range 6 {
		r := connect(t, s, Shell, "")
		r.Write([]byte{2, 0, 0, 0, 0, 0, 0x20, 0, 0}) // a frame of 2 MiB
		for range 15 {
			r.Write(make([]byte, 100<<10)) // an error says that it gave way
		}
	}
	eventually(t, "one gives way", func() bool {
		s.funds.mu.Lock()
		defer s.funds.mu.Unlock()
		return s.funds.owed <= most/4
	})
	asker := connect(t, s, Shell, "")
	must(t, asker.send(request("s", "1", 1)...))
	receive(t, s)
	must(t, asker.send(request("s", "2", 5<<20)...))
	receive(t, s)
}

func heapBytes() int64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
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
		if i >= len(want) || !strings.HasSuffix(line,
			"closed: not a ZeroMQ peer: the first byte is 0x47 ("+want[i]+" so far)") {
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
