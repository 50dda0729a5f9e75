package live

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"os"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/go-zeromq/zmq4"
	"github.com/go-zeromq/zmq4/security/null"

	"wedgework/kernel"
	"wedgework/kernel/history"
	"wedgework/kernel/kerneltest"
	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
	"wedgework/reports/measured"
)

const key = "a key for tests"

// patience is how long a test waits for what must come: far longer than it takes on a busy machine.
const patience = 60 * time.Second

// serve serves a whole kernel over tcp, of which only the process is missing. The returned function ends it.
func serve(t testing.TB) (c wire.Connection, end func()) {
	t.Helper()
	author := wire.NewAuthor("kernel")
	sockets, err := transport.Open(wire.Connection{Transport: "tcp", IP: "127.0.0.1", Key: key, Scheme: "hmac-sha256"},
		transport.Options{Welcome: author.Welcome})
	if err != nil {
		t.Fatal(err)
	}
	interpreter, err := New(func(context.Context, string) (measured.File, error) {
		return measured.File{},
			errors.New("no file can be read here")
	})
	if err != nil {
		t.Fatal(err)
	}
	k := kernel.New(kernel.Config{
		Sockets: sockets, Author: author, Interpreter: interpreter,
		History: history.New(t.TempDir() + "/history"),
		Info:    kernel.Info{Name: "wedgework", Version: "0", Language: map[string]any{"name": "starlark"}},
	})
	ctx, cancel := context.WithCancel(context.Background())
	served := make(chan error, 1)
	go func() {
		_, err := k.Serve(ctx)
		served <- err
	}()
	return sockets.Connection(), sync.OnceFunc(func() {
		cancel()
		if err := <-served; err != nil {
			t.Error(err)
		}
		sockets.Close(context.Background()) // who did not read to the end is not the matter here
	})
}

// client is a front end with a socket of its own for each channel. What it gets stays in its log, in order.
type client struct {
	codec  *wire.Codec
	author *wire.Author
	conns  map[transport.Channel]*zmq4.Conn
	raw    []net.Conn
	closed sync.WaitGroup

	writing sync.Mutex

	mu       sync.Mutex
	log      []kerneltest.Record
	requests []kerneltest.Request
	began    map[string]int // how long the log was when a request went out, by its id
	grown    chan struct{}
}

// connect connects a front end. Its subscription may take effect a moment later: the kernel makes up for that.
func connect(t testing.TB, c wire.Connection, name string) *client {
	t.Helper()
	codec, err := wire.NewCodec(c.Key, c.Scheme)
	if err != nil {
		t.Fatal(err)
	}
	f := &client{
		codec: codec, conns: map[transport.Channel]*zmq4.Conn{}, grown: make(chan struct{}), began: map[string]int{},
		author: &wire.Author{Session: name, User: "engineer", Now: time.Now, NewID: wire.Counted(name + "-")},
	}
	for channel, port := range map[transport.Channel]int{transport.IOPub: c.IOPub, transport.Shell: c.Shell,
		transport.Control: c.Control} {
		network, address := c.Address(port)
		conn, err := net.Dial(network, address)
		if err != nil {
			t.Fatal(err)
		}
		kind := zmq4.Dealer
		if channel == transport.IOPub {
			kind = zmq4.Sub
		}
		z, err := zmq4.Open(conn, null.Security(), kind, zmq4.SocketIdentity(name), false, nil)
		if err != nil {
			t.Fatal(err)
		}
		f.raw = append(f.raw, conn)
		f.conns[channel] = z
		if channel == transport.IOPub {
			if err := z.SendMsg(zmq4.NewMsg([]byte{1})); err != nil {
				t.Fatal(err)
			}
		}
		f.closed.Go(func() { f.read(channel, z) })
	}
	return f
}

func (f *client) read(channel transport.Channel, z *zmq4.Conn) {
	for {
		m, err := z.RecvMsg()
		if err != nil {
			return
		}
		d, err := f.codec.Decode(m.Frames)
		if err != nil {
			continue // and what it was about is missed by the test
		}
		f.mu.Lock()
		f.log = append(f.log, kerneltest.Record{Channel: channel, Message: d})
		close(f.grown)
		f.grown = make(chan struct{})
		f.mu.Unlock()
	}
}

// close ends all connections at once, as the end of a process does.
func (f *client) close() {
	for _, c := range f.raw {
		c.Close()
	}
	f.closed.Wait()
}

// send sends a request and does not wait.
func (f *client) send(channel transport.Channel, msgType string, content any) (*wire.Message, error) {
	return f.sendTo(channel, "", msgType, content)
}

// sendTo is send to a subshell.
func (f *client) sendTo(channel transport.Channel, subshell, msgType string, content any) (*wire.Message, error) {
	m, err := f.author.Publication(nil, msgType, content)
	if err != nil {
		return nil, err
	}
	m.Header.Subshell = subshell
	m.Identities = nil
	frames, err := f.codec.Encode(m)
	if err != nil {
		return nil, err
	}
	f.mu.Lock()
	f.requests = append(f.requests, kerneltest.Request{Message: m, Channel: channel})
	f.began[m.Header.ID] = len(f.log)
	f.mu.Unlock()
	return m, f.write(channel, zmq4.NewMsgFrom(frames...))
}

// write keeps the frames of a message together: the library locks for each frame alone.
func (f *client) write(channel transport.Channel, m zmq4.Msg) error {
	f.writing.Lock()
	defer f.writing.Unlock()
	return f.conns[channel].SendMsg(m)
}

// idle waits until the kernel is idle after a message that has no reply.
func (f *client) idle(m *wire.Message) error {
	_, err := f.until(m, false)
	return err
}

// move moves a slider and waits until the kernel is idle again.
func (f *client) move(slider string, value float64) ([]kerneltest.Record, error) {
	return f.moveIn("", slider, value)
}

// moveIn is move through a subshell.
func (f *client) moveIn(subshell, slider string, value float64) ([]kerneltest.Record, error) {
	m, err := f.sendTo(transport.Shell, subshell, "comm_msg", map[string]any{"comm_id": slider, "data": map[string]any{
		"method": "update", "state": map[string]any{"value": value}, "buffer_paths": []any{}}})
	if err != nil {
		return nil, err
	}
	return f.until(m, false)
}

// about waits until a request is answered in full, and returns everything about it.
func (f *client) about(m *wire.Message) ([]kerneltest.Record, error) { return f.until(m, true) }

// until waits until the kernel is idle after a message, and has replied where a reply is due.
func (f *client) until(m *wire.Message, replies bool) ([]kerneltest.Record, error) {
	late := time.After(patience)
	for {
		f.mu.Lock()
		grown, about := f.grown, kerneltest.About(f.log[f.began[m.Header.ID]:], m)
		f.mu.Unlock()
		replied := false
		for _, r := range about {
			replied = replied || r.Channel != transport.IOPub
		}
		if kerneltest.Done(about) && (replied || !replies) {
			return about, nil
		}
		select {
		case <-grown:
		case <-late:
			return nil, fmt.Errorf("%s %s: got %q so far", m.Header.Type, m.Header.ID, kerneltest.Summary(about))
		}
	}
}

// ask sends a request on shell and waits for all about it.
func (f *client) ask(msgType string, content any) ([]kerneltest.Record, error) {
	m, err := f.send(transport.Shell, msgType, content)
	if err != nil {
		return nil, err
	}
	return f.about(m)
}

func (f *client) run(t testing.TB, code string) []kerneltest.Record {
	t.Helper()
	about, err := f.ask("execute_request", map[string]any{"code": code})
	if err != nil {
		t.Fatal(err)
	}
	return about
}

// check holds everything that the front end has got against the protocol, and forgets it. All that was asked must have
// been answered.
func (f *client) check() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	defer f.forget()
	return kerneltest.Check(f.log, f.requests, false)
}

// forget is called with the lock held.
func (f *client) forget() {
	f.log, f.requests = nil, nil
	clear(f.began)
}

// field is a text in the content of the first message of a type, "" when there is none.
func field(t testing.TB, about []kerneltest.Record, msgType, name string) string {
	t.Helper()
	for _, r := range about {
		if r.Header.Type != msgType {
			continue
		}
		var c map[string]any
		if err := r.Read(&c); err != nil {
			t.Fatal(err)
		}
		if s, ok := c[name].(string); ok {
			return s
		}
		text, err := json.Marshal(c[name])
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	return ""
}

// holdings are what a process may leak.
type holdings struct{ goroutines, descriptors int }

// poller has the runtime open its network poller: two descriptors that come with the first socket of a process and
// stay until its end. They are no leak.
var poller = sync.OnceValue(func() error {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	return l.Close()
})

// held counts what the process holds now.
func held(t testing.TB) holdings {
	t.Helper()
	if err := poller(); err != nil {
		t.Fatal(err)
	}
	fds, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		t.Skip("this system does not list open descriptors")
	}
	return holdings{runtime.NumGoroutine(), len(fds)}
}

// settles waits until the process holds no more than before.
func settles(t testing.TB, before holdings) {
	t.Helper()
	for end := time.Now().Add(patience); ; time.Sleep(10 * time.Millisecond) {
		now := held(t)
		if now.goroutines <= before.goroutines && now.descriptors <= before.descriptors {
			return
		}
		if time.Now().After(end) {
			t.Errorf("held %+v, want no more than %+v", now, before)
			return
		}
	}
}
