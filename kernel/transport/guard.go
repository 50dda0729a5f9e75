package transport

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net"
	"time"
)

// Limits on what one connection may send, besides the size of a message. They are choices.
const (
	mostFrames   = 1024     // in one message; a message of the protocol has seven and its buffers
	longestCmd   = 4 << 10  // a READY with properties has some hundred bytes
	readBuffer   = 16 << 10 // holds several messages of usual size
	referToLarge = 4 << 10  // a chunk above is queued as it is, below it is copied
	believed     = 64 << 10 // bytes of a frame for which room is made when it is announced
)

// phase is how far a connection has come.
type phase int

const (
	greeting phase = iota
	handshake
	traffic
)

// guard stands between a connection and the library, which believes what it reads: it would allocate
// whatever length a frame claims, index beyond a short READY, and hand heartbeats on as messages. What the
// library reads from a guard is a sound greeting, then a sound READY, then frames of messages within limits.
//
// What it writes goes straight out during the handshake. After that it is gathered until the peer, which
// owns the guard, takes it.
type guard struct {
	net.Conn
	in    *bufio.Reader
	kind  Channel
	most  int64              // the greatest message
	stall time.Duration      // the longest pause within a message
	draw  func(n int64) bool // makes room for n bytes more of a message

	ping func(context []byte) error // answers a heartbeat of the protocol

	phase   phase
	checked []byte   // what has been checked and waits to be read
	body    int64    // bytes of the current frame's body to pass through
	inside  bool     // within a message or a command
	limited bool     // a read deadline is set
	frames  int      // of the current message
	size    int64    // of the current message
	chunks  [][]byte // of the current frame, where all of it came in before any was handed out

	gathered [][]byte // what the library has written
	weight   int64    // of gathered, in bytes
	open     bool     // the last chunk is ours and may grow
}

func newGuard(conn net.Conn, kind Channel, o Options, draw func(n int64) bool) *guard {
	g := &guard{Conn: conn, kind: kind, most: o.MaxMessage, stall: o.Stall, draw: draw}
	if kind == Heartbeat || kind == IOPub {
		g.most = min(g.most, 64<<10) // pings and subscriptions
	}
	g.in = bufio.NewReaderSize(patient{g}, readBuffer)
	return g
}

// violation is a breach of ZMTP, or of our limits on it. It ends the connection.
type violation string

func (v violation) Error() string { return string(v) }

func violated(format string, args ...any) error { return violation(fmt.Sprintf(format, args...)) }

// Read hands out what has been checked.
func (g *guard) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	for len(g.checked) == 0 && len(g.chunks) == 0 && g.body == 0 {
		if err := g.next(); err != nil {
			return 0, err
		}
	}
	if len(g.checked) > 0 {
		n := copy(p, g.checked)
		g.checked = g.checked[n:]
		return n, nil
	}
	if len(g.chunks) > 0 {
		n := copy(p, g.chunks[0])
		if g.chunks[0] = g.chunks[0][n:]; len(g.chunks[0]) == 0 {
			g.chunks[0] = nil // it is not needed twice
			g.chunks = g.chunks[1:]
		}
		return n, nil
	}
	p = p[:min(int64(len(p)), g.body)]
	n, err := g.in.Read(p)
	if g.body -= int64(n); g.body == 0 && g.frames == 0 {
		g.inside = false
	}
	return n, err
}

// next reads and checks the greeting, a command, or the head of a frame.
func (g *guard) next() error {
	if g.phase == greeting {
		return g.greet()
	}
	var h [9]byte
	if _, err := io.ReadFull(g.in, h[:1]); err != nil {
		return err
	}
	g.inside = true
	const more, long, command = 1, 2, 4
	flags := h[0]
	head := h[:2]
	if flags&long != 0 {
		head = h[:9]
	}
	if _, err := io.ReadFull(g.in, head[1:]); err != nil {
		return cut(err)
	}
	size := uint64(h[1])
	if flags&long != 0 {
		size = binary.BigEndian.Uint64(h[1:])
	}
	switch {
	case flags&^(more|long|command) != 0:
		return violated("a frame has the reserved flags %#x", flags)
	case flags&command != 0 && flags&more != 0:
		return violated("a command in several frames")
	case flags&command != 0:
		return g.command(head, size)
	case g.phase == handshake:
		return violated("a message before the handshake is complete")
	}
	if size > uint64(g.most) || g.size+int64(size) > g.most {
		return violated("a message of more than %d bytes", g.most)
	}
	if g.frames++; g.frames > mostFrames {
		return violated("a message of more than %d frames", mostFrames)
	}
	g.size += int64(size)
	if size > believed {
		if err := g.gather(int64(size)); err != nil {
			return err
		}
		size = 0
	} else if err := g.makeRoom(int64(size)); err != nil {
		return err
	}
	if flags&more == 0 {
		g.frames, g.size = 0, 0
		g.inside = size > 0
	}
	g.checked, g.body = append([]byte(nil), head...), int64(size)
	return nil
}

func (g *guard) makeRoom(n int64) error {
	if n > 0 && !g.draw(n) {
		return violated("no room for a message: too many bytes are coming in already")
	}
	return nil
}

// gather takes in a large frame before the library hears of it: that would make room for all of it at once, and
// whoever announces a frame need not send it.
func (g *guard) gather(size int64) error {
	for size > 0 {
		n := min(size, believed)
		if err := g.makeRoom(n); err != nil {
			return err
		}
		chunk := make([]byte, n)
		if _, err := io.ReadFull(g.in, chunk); err != nil {
			g.chunks = nil
			return cut(err)
		}
		g.chunks = append(g.chunks, chunk)
		size -= n
	}
	return nil
}

// greet reads the 64 bytes a connection starts with: signature, version, mechanism, as-server, filler.
func (g *guard) greet() error {
	first, err := g.in.Peek(1)
	if err != nil {
		return err
	}
	if first[0] != 0xff { // another protocol: do not wait for the rest of it
		return violated("not a ZeroMQ peer: the first byte is %#x", first[0])
	}
	b := make([]byte, 64)
	if _, err := io.ReadFull(g.in, b); err != nil {
		return cut(err)
	}
	mechanism := [20]byte{'N', 'U', 'L', 'L'}
	switch {
	case b[9] != 0x7f:
		return violated("not a ZeroMQ peer: byte 10 is %#x", b[9])
	case b[10] < 3:
		return violated("ZMTP version %d, want at least 3", b[10])
	case [20]byte(b[12:32]) != mechanism:
		return violated("the security mechanism is not NULL")
	}
	b[32] = 0 // as-server, which means nothing without a mechanism
	g.phase, g.checked = handshake, b
	return nil
}

// command reads a command and acts on it. Of commands only READY reaches the library, and only once.
func (g *guard) command(head []byte, size uint64) error {
	if size > longestCmd {
		return violated("a command of %d bytes, more than %d", size, longestCmd)
	}
	b := make([]byte, size)
	if _, err := io.ReadFull(g.in, b); err != nil {
		return cut(err)
	}
	g.inside = g.frames > 0
	if len(b) == 0 || int(b[0]) > len(b)-1 {
		return violated("a command of %d bytes whose name does not fit", len(b))
	}
	name, body := string(b[1:1+b[0]]), b[1+b[0]:]
	if g.phase == handshake {
		if name != "READY" {
			return violated("a command where READY was expected")
		}
		ready, err := checkReady(body, g.kind)
		if err != nil {
			return err
		}
		g.phase, g.checked = traffic, ready
		return nil
	}
	if name == "PING" {
		// two bytes of time to live, then up to 16 to send back
		if len(body) < 2 || len(body) > 2+16 {
			return violated("a PING of %d bytes, want 2 to 18", len(body))
		}
		return g.ping(body[2:])
	}
	return nil // PONG, and what a later version of the protocol may add
}

// Write sends p, or gathers it once the handshake is done.
func (g *guard) Write(p []byte) (int, error) {
	if g.phase != traffic {
		return g.Conn.Write(p)
	}
	g.weight += int64(len(p))
	if len(p) > referToLarge {
		// The library passes the frames of a message on as they are, and nothing writes to a frame once
		// it is sent; so this needs no copy, although an io.Writer may not keep p in general.
		g.gathered, g.open = append(g.gathered, p), false
		return len(p), nil
	}
	if !g.open {
		g.gathered, g.open = append(g.gathered, make([]byte, 0, 512)), true
	}
	last := &g.gathered[len(g.gathered)-1]
	*last = append(*last, p...)
	return len(p), nil
}

// take returns what has been gathered, and its size in bytes.
func (g *guard) take() ([][]byte, int64) {
	chunks, size := g.gathered, g.weight
	g.gathered, g.weight, g.open = nil, 0, false
	return chunks, size
}

// patient reads from the connection, with a deadline while a message is incomplete. In the handshake the
// deadline of the acceptor holds.
type patient struct{ g *guard }

func (p patient) Read(b []byte) (int, error) {
	g := p.g
	switch {
	case g.phase != traffic:
	case g.inside:
		g.Conn.SetReadDeadline(time.Now().Add(g.stall))
		g.limited = true
	case g.limited:
		g.Conn.SetReadDeadline(time.Time{})
		g.limited = false
	}
	return g.Conn.Read(b)
}

// cut makes the end of a connection within something an error.
func cut(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}
