package transport

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net"
	"time"

	"wedgework/kernel/wire"
)

// patience is how long a test waits for what must come: far longer than it takes on a busy machine.
const patience = time.Minute

// raw is a peer that speaks ZMTP by hand, so that it can also misspeak.
type raw struct {
	net.Conn
	in    *bufio.Reader
	pongs [][]byte // bodies of the PONG commands read on the way
}

// dial connects without a word.
func dial(c wire.Connection, channel Channel) (*raw, error) {
	s := Sockets{connection: c}
	network, address := c.Address(*s.port(channel))
	conn, err := net.DialTimeout(network, address, patience)
	if err != nil {
		return nil, err
	}
	conn.SetDeadline(time.Now().Add(patience))
	return &raw{Conn: conn, in: bufio.NewReader(conn)}, nil
}

// hello is the greeting of ZMTP 3.1 as libzmq sends it.
func hello() []byte {
	g := make([]byte, 64)
	g[0], g[8], g[9], g[10], g[11] = 0xff, 1, 0x7f, 3, 1
	copy(g[12:], "NULL")
	return g
}

func readyBody(socketType, identity string) []byte {
	b := appendProperty([]byte("\x05READY"), "Socket-Type", socketType)
	return appendProperty(b, "Identity", identity)
}

// join connects and does the whole handshake.
func join(c wire.Connection, channel Channel, identity string) (*raw, error) {
	kinds := [channels]string{Control: "DEALER", Stdin: "DEALER", Shell: "DEALER", IOPub: "SUB", Heartbeat: "REQ"}
	r, err := dial(c, channel)
	if err != nil {
		return nil, err
	}
	if err := r.handshake(kinds[channel], identity); err != nil {
		r.Close()
		return nil, fmt.Errorf("handshake on %s: %w", channel, err)
	}
	return r, nil
}

func (r *raw) handshake(socketType, identity string) error {
	r.Write(hello())
	r.command(readyBody(socketType, identity))
	var g [64]byte
	if _, err := io.ReadFull(r.in, g[:]); err != nil {
		return err
	}
	flags, body, err := r.frame()
	if err != nil {
		return err
	}
	if flags&4 == 0 || !bytes.HasPrefix(body, []byte("\x05READY")) {
		return fmt.Errorf("got flags %d and %q, want READY", flags, body)
	}
	return nil
}

func appendFrame(b []byte, flags byte, body []byte) []byte {
	if len(body) > 255 {
		b = append(b, flags|2)
		b = binary.BigEndian.AppendUint64(b, uint64(len(body)))
	} else {
		b = append(b, flags, byte(len(body)))
	}
	return append(b, body...)
}

func (r *raw) command(body []byte) error {
	_, err := r.Write(appendFrame(nil, 4, body))
	return err
}

func (r *raw) send(frames ...[]byte) error {
	var b []byte
	for i, f := range frames {
		var more byte
		if i < len(frames)-1 {
			more = 1
		}
		b = appendFrame(b, more, f)
	}
	_, err := r.Write(b)
	return err
}

func (r *raw) frame() (flags byte, body []byte, err error) {
	flags, err = r.in.ReadByte()
	if err != nil {
		return 0, nil, err
	}
	size := make([]byte, 1)
	if flags&2 != 0 {
		size = make([]byte, 8)
	}
	if _, err := io.ReadFull(r.in, size); err != nil {
		return 0, nil, err
	}
	n := uint64(size[0])
	if flags&2 != 0 {
		n = binary.BigEndian.Uint64(size)
	}
	body = make([]byte, n)
	_, err = io.ReadFull(r.in, body)
	return flags, body, err
}

// recv reads the next message; commands before it are noted or skipped.
func (r *raw) recv() (frames [][]byte, err error) {
	for {
		flags, body, err := r.frame()
		switch {
		case err != nil:
			return nil, err
		case flags&4 != 0:
			if bytes.HasPrefix(body, []byte("\x04PONG")) {
				r.pongs = append(r.pongs, body[5:])
			}
			continue
		}
		frames = append(frames, body)
		if flags&1 == 0 {
			return frames, nil
		}
	}
}

const testKey = "a0436f6c-1916-498b-8eb9-e81ab9368e84"

func testCodec() *wire.Codec {
	c, err := wire.NewCodec(testKey, "")
	if err != nil {
		panic(err)
	}
	return c
}

// request is a signed request with an id, and filler bytes of content.
func request(session, id string, filler int) [][]byte {
	m := &wire.Message{Header: wire.Header{ID: id, Session: session, Type: "execute_request", Version: wire.Version}}
	m.Content, _ = wire.JSON(map[string]any{"code": string(bytes.Repeat([]byte("x"), filler))})
	frames, err := testCodec().Encode(m)
	if err != nil {
		panic(err)
	}
	return frames
}

// mentions reports whether a message is about the request with an id.
func mentions(frames [][]byte, id string) bool {
	return bytes.Contains(bytes.Join(frames, nil), []byte(`"msg_id":"`+id+`"`))
}

// ask sends a request and waits for its reply, which must be the next message.
func (r *raw) ask(session, id string) error {
	if err := r.send(request(session, id, 1)...); err != nil {
		return fmt.Errorf("asking %s: %w", id, err)
	}
	frames, err := r.recv()
	if err != nil {
		return fmt.Errorf("waiting for the reply to %s: %w", id, err)
	}
	if !mentions(frames, id) {
		return fmt.Errorf("got a message that is not about %s: %q", id, frames)
	}
	return nil
}

// askAnew connects to shell and asks: what must work whatever others do.
func askAnew(c wire.Connection, id string) error {
	r, err := join(c, Shell, "")
	if err != nil {
		return fmt.Errorf("a new peer: %w", err)
	}
	defer r.Close()
	return r.ask("new", id)
}

// subscribe subscribes to everything.
func (r *raw) subscribe() error { return r.send([]byte{1}) }

// ended waits for the other side to close the connection, whatever else it sends before.
func (r *raw) ended() error {
	_, err := io.Copy(io.Discard, r.in)
	var timeout net.Error
	if errors.As(err, &timeout) && timeout.Timeout() {
		return errors.New("the connection stays open")
	}
	return nil
}
