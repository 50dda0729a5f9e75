package transport

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"testing"

	"wedgework/kernel/wire"
)

func TestControlComesFirst(t *testing.T) {
	s, _ := open(t, onTCP(), Options{})
	shell, stdin, control := connect(t, s, Shell, "me"), connect(t, s, Stdin, "me"), connect(t, s, Control, "me")
	for i := range 20 {
		must(t, shell.send(request("s", fmt.Sprint("shell", i), 1)...))
	}
	must(t, stdin.send(request("s", "stdin", 1)...))
	must(t, control.send(request("s", "control", 1)...))
	eventually(t, "all have arrived", func() bool {
		return len(s.inbox[Shell]) == 20 && len(s.inbox[Stdin]) == 1 && len(s.inbox[Control]) == 1
	})
	for i, want := range []string{"control", "stdin", "shell0", "shell1"} {
		channel, m := receive(t, s)
		if m.Header.ID != want || !strings.HasPrefix(want, channel.String()) {
			t.Errorf("message %d: got %s on %s, want %s", i, m.Header.ID, channel, want)
		}
	}
	// One channel alone, while another has something too.
	must(t, control.send(request("s", "control2", 1)...))
	eventually(t, "control has arrived", func() bool { return len(s.inbox[Control]) == 1 })
	if _, m := receive(t, s, Shell); m.Header.ID != "shell2" {
		t.Errorf("from shell: got %s, want shell2", m.Header.ID)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := s.Receive(ctx, Stdin); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want that of the context", err)
	}
}

// A request on shell leads to the stdin of the same client, by its identity.
func TestStdinOfTheAsker(t *testing.T) {
	s, _ := open(t, onTCP(), Options{})
	connect(t, s, Stdin, "other")
	shell, stdin := connect(t, s, Shell, "me"), connect(t, s, Stdin, "me")
	must(t, shell.send(request("s", "r", 1)...))
	_, m := receive(t, s)
	eventually(t, "stdin is known", func() bool { return s.peers[Stdin].find([]byte(token(0, "me"))) != nil })
	must(t, reply(t, s, Stdin, m, "input_request"))
	if got, err := stdin.recv(); err != nil || !mentions(got, "r") {
		t.Errorf("got %q and %v, want the input request about r", got, err)
	}
}

// A client that lost its connection gets the reply on its next one.
func TestReplyAfterReconnecting(t *testing.T) {
	s, _ := open(t, onTCP(), Options{})
	first := connect(t, s, Shell, "me")
	nameless := connect(t, s, Shell, "")
	must(t, first.send(request("s", "r", 1)...))
	_, m := receive(t, s)
	must(t, nameless.send(request("s", "n", 1)...))
	_, n := receive(t, s)
	first.Close()
	nameless.Close()
	connect(t, s, Shell, "") // nobody's heir
	eventually(t, "the connections are gone", func() bool {
		return s.peers[Shell].find(m.Identities[0]) == nil && s.peers[Shell].find(n.Identities[0]) == nil
	})
	for _, request := range []*wire.Message{m, n} {
		if err := reply(t, s, Shell, request, "execute_reply"); !errors.Is(err, ErrGone) {
			t.Errorf("to nobody: %v, want ErrGone", err)
		}
	}
	again := connect(t, s, Shell, "me")
	eventually(t, "it is back", func() bool { return s.peers[Shell].find(m.Identities[0]) != nil })
	must(t, reply(t, s, Shell, m, "execute_reply"))
	if got, err := again.recv(); err != nil || !mentions(got, "r") {
		t.Errorf("got %q and %v, want the reply to r", got, err)
	}
}

func TestSendRefuses(t *testing.T) {
	s, _ := open(t, onTCP(), Options{})
	for _, tt := range []struct {
		channel Channel
		m       *wire.Message
		want    string
	}{
		{IOPub, &wire.Message{}, "send on iopub: want control, stdin or shell"},
		{Shell, &wire.Message{Header: wire.Header{Type: "x"}}, "send x: no identity says which peer it is for"},
		{Shell, &wire.Message{Header: wire.Header{Type: "x"}, Identities: [][]byte{{}}},
			"send x on shell: the peer is gone"},
		{Shell, &wire.Message{Header: wire.Header{Type: "x"}, Identities: [][]byte{{1}}, Content: []byte("[]")},
			"x: content is not a JSON object"},
	} {
		if got := fmt.Sprint(s.Send(tt.channel, tt.m)); got != tt.want {
			t.Errorf("got %q, want %q", got, tt.want)
		}
	}
	if err := s.Publish(&wire.Message{Header: wire.Header{Type: "x"}, Content: []byte("[]")}); err == nil {
		t.Error("content that is no object was published")
	}
}

func TestTopics(t *testing.T) {
	s, _ := open(t, onTCP(), Options{})
	all, some := connect(t, s, IOPub, ""), connect(t, s, IOPub, "")
	must(t, all.subscribe())
	must(t, some.send([]byte("\x01stream.")))
	must(t, some.send([]byte("\x01status")))
	must(t, some.send([]byte("\x00status")))
	subscribed(t, s, 2)
	// The unsubscription is behind the subscription on the same connection: a ping tells when it is through.
	must(t, some.command([]byte("\x04PING\x00\x00")))
	if _, body, err := some.frame(); err != nil || string(body) != "\x04PONG" {
		t.Fatalf("got %q and %v, want PONG", body, err)
	}
	for _, topic := range []string{"status", "stream.stdout", "stream", "stream.stderr"} {
		must(t, s.Publish(&wire.Message{Header: wire.Header{ID: topic, Type: "x"},
			Identities: [][]byte{[]byte(topic)}}))
	}
	must(t, s.Publish(&wire.Message{Header: wire.Header{ID: "by type", Type: "stream.type"}}))
	for r, want := range map[*raw][]string{
		all:  {"status", "stream.stdout", "stream", "stream.stderr", "by type"},
		some: {"stream.stdout", "stream.stderr", "by type"},
	} {
		for _, id := range want {
			if got, err := r.recv(); err != nil || !mentions(got, id) {
				t.Errorf("got %q and %v, want %s", got, err, id)
			}
		}
	}
}

func TestHeartbeat(t *testing.T) {
	s, _ := open(t, onTCP(), Options{})
	r := connect(t, s, Heartbeat, "")
	for _, frames := range [][][]byte{{{}, []byte("ping")}, {{}, {}, {0, 255}}, {bytes.Repeat([]byte("x"), 300)}} {
		must(t, r.send(frames...))
		got, err := r.recv()
		must(t, err)
		if !bytes.Equal(bytes.Join(got, []byte("|")), bytes.Join(frames, []byte("|"))) {
			t.Errorf("got %q, want %q", got, frames)
		}
	}
}

// Twenty clients at once, each with many requests and a large one, and nothing is lost or mixed up.
func TestManyClients(t *testing.T) {
	const clients, requests, large = 20, 100, 4 << 20
	s, _ := open(t, onTCP(), Options{})
	go func() {
		for {
			channel, m, err := s.Receive(context.Background())
			if err != nil {
				return
			}
			r, err := wire.NewAuthor("kernel").Reply(m, "execute_reply", map[string]any{})
			if err == nil {
				s.Publish(r)
				err = s.Send(channel, r)
			}
			if err != nil {
				t.Error(err)
			}
		}
	}()
	var wait sync.WaitGroup
	for c := range clients {
		name := fmt.Sprint("client", c)
		shell := connect(t, s, []Channel{Shell, Control}[c%2], name)
		wait.Go(func() {
			go func() {
				for i := range requests {
					filler := 10
					if i == requests/2 && c%5 == 0 {
						filler = large
					}
					shell.send(request(name, fmt.Sprintf("%s-%d", name, i), filler)...)
				}
			}()
			for i := range requests {
				if got, err := shell.recv(); err != nil || !mentions(got, fmt.Sprintf("%s-%d", name, i)) {
					t.Errorf("%s, reply %d: got %.300q and %v", name, i, got, err)
					return
				}
			}
		})
	}
	wait.Wait()
}

// A message of 50 MB goes there and back, and right behind other ones.
func TestLargeMessage(t *testing.T) {
	const size = 50 << 20
	s, j := open(t, onIPC(t), Options{})
	shell, iopub := connect(t, s, Shell, "me"), connect(t, s, IOPub, "")
	must(t, iopub.subscribe())
	must(t, shell.send(append(request("s", "large", 1), make([]byte, size))...))
	_, m := receive(t, s)
	r, err := wire.NewAuthor("kernel").Reply(m, "execute_reply", map[string]any{})
	must(t, err)
	r.Buffers = m.Buffers
	must(t, s.Send(Shell, r))
	if got, err := shell.recv(); err != nil || !mentions(got[3:4], "large") || len(got[6]) != size {
		t.Errorf("got %d frames and %v, want the large reply", len(got), err)
	}
	subscribed(t, s, 1)
	r.Identities = [][]byte{[]byte("large")}
	small := &wire.Message{Header: wire.Header{ID: "m", Type: "small"}}
	for range 2 {
		must(t, s.Publish(small))
		must(t, s.Publish(r))
	}
	for _, want := range []string{"small", "large", "small", "large"} {
		if got, err := iopub.recv(); err != nil || string(got[0]) != want || want == "large" && len(got[7]) != size {
			t.Fatalf("got %d frames and %v, want the %s message", len(got), err, want)
		}
	}
	if n := s.funds.taken(); n != 0 {
		t.Errorf("%d bytes are never paid back", n)
	}
	if lines := j.all(); len(lines) > 0 {
		t.Errorf("the log says %q", lines)
	}
}

// What is no message is dropped and logged, sparingly; a good message after it is served.
func TestGarbage(t *testing.T) {
	const count = 10000
	s, j := open(t, onTCP(), Options{})
	random := rand.New(rand.NewPCG(1, 2))
	for channel := range Channel(channels) {
		r := connect(t, s, channel, "")
		go func() { // what comes back of it
			for {
				if _, err := r.recv(); err != nil {
					return
				}
			}
		}()
		for range count {
			frames := make([][]byte, 1+random.IntN(8))
			for i := range frames {
				frames[i] = make([]byte, random.IntN(40))
				for k := range frames[i] {
					frames[i][k] = byte(random.Uint32())
				}
			}
			must(t, r.send(frames...))
		}
	}
	shell := connect(t, s, Shell, "me")
	must(t, shell.send(request("s", "good", 1)...))
	if _, m := receive(t, s); m.Header.ID != "good" {
		t.Errorf("got %q, want the good one: garbage came through", m.Header.ID)
	}
	eventually(t, "all of it is read", func() bool {
		return s.funds.taken() == 0 && j.has("control") && j.has("stdin") && j.has("shell") && j.has("iopub")
	})
	if n := len(j.all()); n > 5*20 {
		t.Errorf("%d lines in the log for %d frames, want a few", n, 5*count)
	}
}

func TestForged(t *testing.T) {
	s, j := open(t, onTCP(), Options{})
	shell := connect(t, s, Shell, "me")
	good := request("s", "good", 1)
	forged := request("s", "forged", 1)
	forged[1] = good[1]
	unsigned := request("s", "unsigned", 1)
	unsigned[1] = nil
	for _, m := range [][][]byte{forged, unsigned, good, good, request("s", "last", 1)} {
		must(t, shell.send(m...))
	}
	for _, want := range []string{"good", "last"} {
		if _, m := receive(t, s); m.Header.ID != want {
			t.Errorf("got %q, want %q", m.Header.ID, want)
		}
	}
	for _, want := range []string{
		`shell peer "me": message refused: signature does not match (1 so far)`,
		`shell peer "me": message refused: unsigned (2 so far)`,
		`shell peer "me": message refused: seen before (3 so far)`,
	} {
		if !j.has(want) {
			t.Errorf("the log lacks %q: %q", want, j.all())
		}
	}
}

func TestOpenRefuses(t *testing.T) {
	taken, _ := open(t, onIPC(t), Options{})
	used := taken.Connection()

	stale := onIPC(t)
	plain := stale
	must(t, os.WriteFile(plain.IP+"-9", []byte("precious"), 0o600))
	plain.Shell = 9

	long := onIPC(t)
	long.IP += strings.Repeat("x", 200)

	elsewhere := onTCP()
	elsewhere.IP, elsewhere.Key = "0.0.0.0", ""

	port := onTCP()
	open, _ := open(t, port, Options{})
	port.Shell = open.Connection().Shell

	for _, tt := range []struct {
		name string
		c    wire.Connection
		want string
	}{
		{"in use", used, "another process listens at " + used.IP},
		{"not a socket", plain, plain.IP + "-9 exists and is not a socket"},
		{"too long", long, "bytes, more than the "},
		{"unsigned for all", elsewhere, "key is empty while ip is"},
		{"port in use", port, "shell: listen tcp 127.0.0.1:"},
		{"unknown", wire.Connection{Transport: "udp"}, "transport is \"udp\""},
	} {
		leaves(t, func() {
			s, err := Open(tt.c, Options{})
			if err == nil {
				s.Close(context.Background())
			}
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("%s: error %v, want %q", tt.name, err, tt.want)
			}
		})
	}
	if data, err := os.ReadFile(plain.IP + "-9"); err != nil || string(data) != "precious" {
		t.Errorf("the file that is no socket has %q and %v, want it untouched", data, err)
	}
}

// taken is how much is drawn.
func (b *budget) taken() int64 {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.drawn
}
