package transport

import (
	"context"
	"net"
	"sync/atomic"
	"testing"

	"github.com/go-zeromq/zmq4"
	"github.com/go-zeromq/zmq4/transport"
)

// counting counts the writes to the connections it accepts.
type counting struct {
	net.Listener
	writes *atomic.Int64
}

type counted struct {
	net.Conn
	writes *atomic.Int64
}

func (l counting) Accept() (net.Conn, error) {
	c, err := l.Listener.Accept()
	if err != nil {
		return nil, err
	}
	return counted{c, l.writes}, nil
}

func (c counted) Write(p []byte) (int, error) {
	c.writes.Add(1)
	return c.Conn.Write(p)
}

// A message of many frames costs one write to the system at most; that is what makes the difference in the benchmarks.
// The library makes two for each frame: Send puts 28,000 messages of seven frames a second through. Its SendMulti makes
// one, but not on a ROUTER, where the mark is lost on the way.
func TestOneWriteForAMessage(t *testing.T) {
	const count = 50
	var writes atomic.Int64
	s, _ := open(t, onTCP(), Options{listen: func(network, address string) (net.Listener, error) {
		l, err := net.Listen(network, address)
		return counting{l, &writes}, err
	}})
	r := connect(t, s, Shell, "me")
	must(t, r.send(request("s", "r", 1)...))
	_, m := receive(t, s)
	before := writes.Load()
	for range count {
		must(t, reply(t, s, Shell, m, "execute_reply"))
		if _, err := r.recv(); err != nil {
			t.Fatal(err)
		}
	}
	if got := writes.Load() - before; got > count {
		t.Errorf("%d writes for %d messages, want one each", got, count)
	}
	if !*bareFlag {
		return
	}
	got, err := bareWrites(t, &writes, count)
	must(t, err)
	if got <= count {
		t.Errorf("the library makes %d writes for %d messages", got, count)
	}
	t.Logf("the library makes %d writes for %d messages", got, count)
}

// countingTransport is tcp for sockets of the library.
type countingTransport struct {
	transport.Transport
	writes *atomic.Int64
}

func (c countingTransport) Listen(ctx context.Context, address string) (net.Listener, error) {
	l, err := net.Listen("tcp", address)
	return counting{l, c.writes}, err
}

// bareWrites counts the writes that a ROUTER of the library makes for messages with SendMulti.
func bareWrites(t *testing.T, writes *atomic.Int64, count int) (int64, error) {
	if err := zmq4.RegisterTransport("counting", countingTransport{transport.New("tcp"), writes}); err != nil {
		return 0, err
	}
	router := zmq4.NewRouter(context.Background())
	defer router.Close()
	if err := router.Listen("counting://127.0.0.1:0"); err != nil {
		return 0, err
	}
	c := onTCP()
	c.Shell = router.Addr().(*net.TCPAddr).Port
	r, err := join(c, Shell, "me")
	if err != nil {
		return 0, err
	}
	defer r.Close()
	if err := r.send(request("s", "r", 1)...); err != nil {
		return 0, err
	}
	m, err := router.Recv()
	if err != nil {
		return 0, err
	}
	before := writes.Load()
	for range count {
		if err := router.SendMulti(m); err != nil {
			return 0, err
		}
		if _, err := r.recv(); err != nil {
			return 0, err
		}
	}
	return writes.Load() - before, nil
}
