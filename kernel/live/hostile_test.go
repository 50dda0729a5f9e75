package live

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/go-zeromq/zmq4"

	"wedgework/kernel/transport"
)

// Garbage on every socket, before and after the handshake, signed and unsigned, does not keep anybody from working and
// leaves nothing behind.
func TestGarbage(t *testing.T) {
	before := held(t)
	connection, end := serve(t)
	f := connect(t, connection, "engineer")
	frames := 400 // on each socket
	if soak() {
		frames = 10_000
	}
	var all sync.WaitGroup
	for i, port := range []int{connection.Shell, connection.Control, connection.Stdin, connection.IOPub,
		connection.Heartbeat} {
		random := rand.New(rand.NewPCG(7, uint64(i)))
		network, address := connection.Address(port)
		all.Go(func() {
			for range frames {
				conn, err := net.Dial(network, address)
				if err != nil {
					t.Error(err)
					return
				}
				conn.SetDeadline(time.Now().Add(patience))
				conn.Write(garbage(random))
				conn.Close()
			}
		})
	}
	// On connections of good standing it is messages that are nonsense.
	all.Go(func() {
		random := rand.New(rand.NewPCG(7, 7))
		for range frames {
			for _, channel := range []transport.Channel{transport.Shell, transport.Control} {
				if err := f.write(channel, nonsense(random, connection.Key)); err != nil {
					t.Error(err)
					return
				}
			}
		}
	})
	for i := range 50 {
		if got, want := field(t, f.run(t, fmt.Sprint(i)), "execute_result", "data"), fmt.Sprintf(`{"text/plain":"%d"}`,
			i); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	all.Wait()
	f.run(t, "1+1")
	if err := f.check(); err != nil {
		t.Error(err)
	}
	f.close()
	end()
	settles(t, before)
}

// garbage is what a stranger might send: nothing, noise, or the right beginning with a wrong end.
func garbage(random *rand.Rand) []byte {
	hello := make([]byte, 64)
	hello[0], hello[8], hello[9], hello[10], hello[11] = 0xff, 1, 0x7f, 3, 0
	copy(hello[12:], "NULL")
	noise := make([]byte, random.IntN(300))
	for i := range noise {
		noise[i] = byte(random.Uint32())
	}
	switch random.IntN(4) {
	case 0:
		return noise
	case 1:
		return append(hello[:random.IntN(64)], noise...)
	case 2:
		return append(hello, noise...)
	}
	ready := []byte("\x04\x19\x05READY\x0bSocket-Type\x00\x00\x00\x06DEALER") // and a frame of an absurd length
	return append(append(hello, ready...), bytes.Repeat([]byte{0x02, 0x7f}, 5)...)
}

// nonsense is a message that is none: too few frames, JSON that is not, a signature that does not match.
func nonsense(random *rand.Rand, key string) zmq4.Msg {
	frames := []string{"<IDS|MSG>", strings.Repeat("0", 64), `{"msg_id":"1","msg_type":"execute_request"}`, "{}", "{}",
		`{"code":"x = 666"}`}
	switch random.IntN(4) {
	case 0:
		frames = frames[:random.IntN(len(frames))]
	case 1:
		frames[2] = key
	case 2:
		frames[1] = ""
	}
	m := zmq4.Msg{}
	for _, f := range frames {
		m.Frames = append(m.Frames, []byte(f))
	}
	if len(m.Frames) == 0 {
		m.Frames = [][]byte{{}}
	}
	return m
}

// A session that ends leaves nothing behind, however often.
func TestStartsAndEnds(t *testing.T) {
	rounds := 20
	if soak() {
		rounds = 1000
	}
	before := held(t)
	for range rounds {
		connection, end := serve(t)
		f := connect(t, connection, "engineer")
		f.run(t, "x = 1\nx")
		m, err := f.send(transport.Control, "shutdown_request", map[string]any{"restart": true})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.about(m); err != nil {
			t.Fatal(err)
		}
		if err := f.check(); err != nil {
			t.Fatal(err)
		}
		f.close()
		end()
	}
	settles(t, before)
}

// An interrupt ends what takes long within 100 ms on an idle machine, and leaves the names; this asks for less, because
// machines are busy.
func TestInterruptsCellAndWord(t *testing.T) {
	connection, end := serve(t)
	defer end()
	f := connect(t, connection, "engineer")
	defer f.close()
	f.run(t, "kept = 5")
	for _, code := range []string{
		"while True:\n    pass",
		"[i for i in range(10000000) for j in range(10000000)]",
	} {
		m, err := f.send(transport.Shell, "execute_request", map[string]any{"code": code})
		if err != nil {
			t.Fatal(err)
		}
		time.Sleep(50 * time.Millisecond) // to be in the middle of it
		if _, err := f.send(transport.Control, "interrupt_request", map[string]any{}); err != nil {
			t.Fatal(err)
		}
		about, err := f.about(m)
		if err != nil {
			t.Fatal(err)
		}
		if got := field(t, about, "execute_reply", "ename"); got != "Interrupted" {
			t.Errorf("%q ends with %q, want Interrupted", code, got)
		}
	}
	if got, want := field(t, f.run(t, "kept"), "execute_result", "data"), `{"text/plain":"5"}`; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
