package transport

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
	"testing"

	"github.com/go-zeromq/zmq4"
	"github.com/go-zeromq/zmq4/security/null"
)

// script is a connection whose other side has sent all it will send. It is read in pieces of a few bytes, and
// what is written to it is kept.
type script struct {
	net.Conn
	in    io.Reader
	piece int
	out   bytes.Buffer
}

func (s *script) Read(p []byte) (int, error)  { return s.in.Read(p[:min(len(p), s.piece)]) }
func (s *script) Write(p []byte) (int, error) { return s.out.Write(p) }
func (s *script) Close() error                { return nil }

// converse lets the library read through a guard all that a peer sent.
func converse(kind Channel, data []byte, piece int, o Options) (messages [][][]byte, pings []string, drawn int64,
	err error) {
	funds, held := &budget{limit: o.withDefaults().MaxInbound}, int64(0)
	g := newGuard(&script{in: bytes.NewReader(data), piece: piece}, kind, o.withDefaults(), func(n int64) bool {
		if !funds.draw(n, false) {
			return false
		}
		held += n
		return true
	})
	pay := func() {
		funds.pay(held, false)
		held = 0
	}
	g.ping = func(context []byte) error { pings = append(pings, string(context)); return nil }
	// Deadlines mean nothing here, and the script has none to set.
	g.in.Reset(readerFunc(func(p []byte) (int, error) { return g.Conn.Read(p) }))
	z, err := zmq4.Open(g, null.Security(), socketType[kind], nil, true, nil)
	for err == nil {
		var m zmq4.Msg
		if m, err = z.RecvMsg(); err == nil {
			messages = append(messages, m.Frames)
			pay()
		}
	}
	pay()
	return messages, pings, funds.drawn, unwrapped(err)
}

type readerFunc func([]byte) (int, error)

func (f readerFunc) Read(p []byte) (int, error) { return f(p) }

func words(parts ...[]byte) []byte { return bytes.Join(parts, nil) }

func TestGuard(t *testing.T) {
	ready := appendFrame(nil, 4, readyBody("DEALER", "me"))
	ping := appendFrame(nil, 4, []byte("\x04PING\x00\x0aabc"))
	frame := func(flags byte, text string) []byte { return appendFrame(nil, flags, []byte(text)) }
	kilo := strings.Repeat("k", 1024)
	older := hello()
	older[10] = 2
	curve := hello()
	copy(curve[12:], "CURVE")
	for _, tt := range []struct {
		name  string
		data  []byte
		want  string // the messages, frames joined by | and messages by ;
		pings string
		err   string
	}{
		{"a message", words(hello(), ready, frame(0, "a")), "a", "", "EOF"},
		{"frames", words(hello(), ready, frame(1, "a"), frame(1, ""), frame(0, "b"), frame(0, "")), "a||b;", "", "EOF"},
		{"a long frame", words(hello(), ready, frame(0, kilo)), kilo, "", "EOF"},
		{"a short frame with a long length", words(hello(), ready, []byte{2, 0, 0, 0, 0, 0, 0, 0, 1, 'x'}), "x", "",
			"EOF"},
		{"pings between messages and frames", words(hello(), ready, ping, frame(1, "a"), ping, frame(0, "b"), ping),
			"a|b", "abc,abc,abc", "EOF"},
		{"other commands", words(hello(), ready, frame(4, "\x04PONG"), frame(4, "\x09SUBSCRIBEx"), frame(0, "a")), "a",
			"", "EOF"},
		{"properties in any case", words(hello(),
			frame(4, "\x05READY\x0bSOCKET-type\x00\x00\x00\x06DEALER\x01x\x00\x00\x00\x00"), frame(0, "a")), "a", "",
			"EOF"},

		{"nothing", nil, "", "", "EOF"},
		{"half a greeting", hello()[:20], "", "", "unexpected EOF"},
		{"another protocol", []byte("GET / HTTP/1.1"), "", "", "not a ZeroMQ peer: the first byte is 0x47"},
		{"a greeting without its mark", words([]byte{0xff}, make([]byte, 63)), "", "",
			"not a ZeroMQ peer: byte 10 is 0x0"},
		{"an older version", older, "", "", "ZMTP version 2, want at least 3"},
		{"another mechanism", curve, "", "", "the security mechanism is not NULL"},
		{"a message for READY", words(hello(), frame(0, "a")), "", "", "a message before the handshake is complete"},
		{"another command for READY", words(hello(), frame(4, "\x05ERROR\x00")), "", "",
			"a command where READY was expected"},
		{"a command without a name", words(hello(), frame(4, "")), "", "",
			"a command of 0 bytes whose name does not fit"},
		{"a name beyond the command", words(hello(), frame(4, "\x06READY")), "", "",
			"a command of 6 bytes whose name does not fit"},
		{"a great command", words(hello(), frame(4, strings.Repeat("x", 5000))), "", "",
			"a command of 5000 bytes, more than 4096"},
		{"a command in frames", words(hello(), ready, frame(5, "\x04PING\x00\x00")), "", "",
			"a command in several frames"},
		{"reserved flags", words(hello(), ready, frame(8, "a")), "", "", "a frame has the reserved flags 0x8"},
		{"a great message", words(hello(), ready, frame(1, kilo), frame(1, kilo), frame(0, "x")), "", "",
			"a message of more than 2048 bytes"},
		{"a frame of 2^63 bytes", words(hello(), ready, []byte{2, 0x80, 0, 0, 0, 0, 0, 0, 0}), "", "",
			"a message of more than 2048 bytes"},
		{"many frames", words(hello(), ready, bytes.Repeat(frame(1, ""), mostFrames+1)), "", "",
			"a message of more than 1024 frames"},
		{"a cut message", words(hello(), ready, frame(1, "a"), []byte{0, 5, 'x'}), "", "", "unexpected EOF"},
		{"a cut head", words(hello(), ready, []byte{2, 0, 0}), "", "", "unexpected EOF"},
		{"a short PING", words(hello(), ready, frame(4, "\x04PING\x00")), "", "", "a PING of 1 bytes, want 2 to 18"},
		{"a long PING", words(hello(), ready, frame(4, "\x04PING\x00\x0001234567890123456")), "", "",
			"a PING of 19 bytes, want 2 to 18"},
		{"a property without a name", words(hello(), frame(4, "\x05READY\x00\x00\x00\x00\x00")), "", "",
			"READY has a property name of 0 bytes where 4 are left"},
		{"a property name beyond", words(hello(), frame(4, "\x05READY\xffSocket-Type")), "", "",
			"READY has a property name of 255 bytes where 11 are left"},
		{"a property beyond", words(hello(), frame(4, "\x05READY\x01a\xff\xff\xff\xff")), "", "",
			"READY has a property of 4294967295 bytes where 0 are left"},
		{"no socket type", words(hello(), frame(4, "\x05READY")), "", "",
			`a "" socket connects to shell, want DEALER or REQ or ROUTER`},
		{"the wrong socket type", words(hello(), appendFrame(nil, 4, readyBody("SUB", ""))), "", "",
			`a "SUB" socket connects to shell, want DEALER or REQ or ROUTER`},
		{"a great identity", words(hello(), appendFrame(nil, 4, readyBody("DEALER", strings.Repeat("i", 256)))), "", "",
			"an identity of 256 bytes, more than 255"},
	} {
		for _, piece := range []int{1, 7, 1 << 20} {
			messages, pings, drawn, err := converse(Shell, tt.data, piece, Options{MaxMessage: 2048})
			var texts []string
			for _, m := range messages {
				texts = append(texts, string(bytes.Join(m, []byte("|"))))
			}
			if got := strings.Join(texts, ";"); got != tt.want {
				t.Errorf("%s: messages %.60q, want %.60q", tt.name, got, tt.want)
			}
			if got := strings.Join(pings, ","); got != tt.pings {
				t.Errorf("%s: pings %q, want %q", tt.name, got, tt.pings)
			}
			if got := fmt.Sprint(err); got != tt.err && !strings.HasSuffix(got, ": "+tt.err) {
				t.Errorf("%s: error %q, want %q", tt.name, got, tt.err)
			}
			if drawn != 0 {
				t.Errorf("%s: %d bytes are never paid back", tt.name, drawn)
			}
		}
	}
}

func TestGuardDrawsFunds(t *testing.T) {
	data := words(hello(), appendFrame(nil, 4, readyBody("DEALER", "")), appendFrame(nil, 1, make([]byte, 600)),
		appendFrame(nil, 0, make([]byte, 600)))
	if messages, _, _, err := converse(Shell, data, 100, Options{MaxInbound: 1200}); len(messages) != 1 ||
		!errors.Is(err, io.EOF) {
		t.Errorf("%d messages and %v within the funds, want 1 and EOF", len(messages), err)
	}
	messages, _, drawn, err := converse(Shell, data, 100, Options{MaxInbound: 1199})
	if got, want := fmt.Sprint(err), "no room for a message: too many bytes are coming in already"; len(messages) != 0 || got != want || drawn != 0 {
		t.Errorf("%d messages, %q and %d still drawn beyond the funds, want 0, %q and 0", len(messages), got, drawn,
			want)
	}
}

// FuzzGuard reads whatever bytes a peer may send, on any channel and in any pieces. Nothing may panic, take
// more memory than a message may have, or come through that breaks the limits.
func FuzzGuard(f *testing.F) {
	ready := appendFrame(nil, 4, readyBody("DEALER", "me"))
	f.Add(byte(Shell), byte(3), words(hello(), ready, appendFrame(nil, 1, []byte("<IDS|MSG>")),
		appendFrame(nil, 0, []byte("{}"))))
	f.Add(byte(Shell), byte(255), words(hello(), ready, appendFrame(nil, 4, []byte("\x04PING\x00\x0aabc")),
		[]byte{2, 0, 4, 0, 0, 0, 0, 0, 0}))
	f.Add(byte(IOPub), byte(1), words(hello(), appendFrame(nil, 4, readyBody("SUB", "")),
		appendFrame(nil, 0, []byte{1})))
	f.Add(byte(Heartbeat), byte(64), words(hello(), appendFrame(nil, 4, readyBody("REQ", "")), appendFrame(nil, 1, nil),
		appendFrame(nil, 0, []byte("ping"))))
	f.Add(byte(Stdin), byte(9), words(hello(), appendFrame(nil, 4, []byte("\x05READY\x0bSocket-Type\x00\x00\x00"))))
	f.Fuzz(func(t *testing.T, kind, piece byte, data []byte) {
		const most = 4096
		messages, pings, drawn, err := converse(Channel(int(kind)%channels), data, 1+int(piece),
			Options{MaxMessage: most, MaxInbound: 2 * most})
		if err == nil {
			t.Fatal("the conversation never ends")
		}
		for _, m := range messages {
			size := 0
			for _, f := range m {
				size += len(f)
			}
			if size > most || len(m) > mostFrames || len(m) == 0 {
				t.Fatalf("a message of %d frames and %d bytes came through", len(m), size)
			}
		}
		for _, p := range pings {
			if len(p) > 16 {
				t.Fatalf("a PING with %d bytes came through", len(p))
			}
		}
		if drawn != 0 {
			t.Fatalf("%d bytes are never paid back", drawn)
		}
	})
}
