package transport

import (
	"context"
	"fmt"
	"net"
	"sync"
	"testing"
	"time"

	"github.com/go-zeromq/zmq4"

	"wedgework/kernel/wire"
)

// never is the deadline of a connection without one.
var never time.Time

// benchMessage is a reply, or a publication about nothing.
func benchMessage(b *testing.B, request *wire.Message) *wire.Message {
	b.Helper()
	a, content := wire.NewAuthor("kernel"), map[string]any{"name": "stdout", "text": "a line of output\n"}
	if request == nil {
		m, err := a.Publication(nil, "stream", content)
		must(b, err)
		return m
	}
	m, err := a.Reply(request, "execute_reply", content)
	must(b, err)
	return m
}

// drain reads a number of messages on a goroutine.
func (r *raw) drain(n int) *sync.WaitGroup {
	var wait sync.WaitGroup
	wait.Go(func() {
		for range n {
			if _, err := r.recv(); err != nil {
				return
			}
		}
	})
	return &wait
}

// BenchmarkReplies sends signed replies to one peer. The queue is as long as it takes, since what is measured is not
// the peer.
func BenchmarkReplies(b *testing.B) {
	s, _ := open(b, onTCP(), Options{MaxQueue: 1 << 40})
	r := connect(b, s, Shell, "me")
	r.SetDeadline(never)
	must(b, r.send(request("s", "r", 1)...))
	_, m := receive(b, s)
	answer := benchMessage(b, m)
	b.ReportAllocs()
	b.ResetTimer()
	read := r.drain(b.N)
	for range b.N {
		must(b, s.Send(Shell, answer))
	}
	read.Wait()
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "msg/s")
}

// BenchmarkPublish publishes signed messages to one, and to twenty subscribers.
func BenchmarkPublish(b *testing.B) {
	for _, n := range []int{1, 20} {
		b.Run(fmt.Sprintf("subscribers=%d", n), func(b *testing.B) {
			s, _ := open(b, onTCP(), Options{MaxQueue: 1 << 40})
			var reads []*sync.WaitGroup
			for range n {
				r := connect(b, s, IOPub, "")
				r.SetDeadline(never)
				must(b, r.subscribe())
				reads = append(reads, r.drain(b.N))
			}
			subscribed(b, s, n)
			m := benchMessage(b, nil)
			b.ReportAllocs()
			b.ResetTimer()
			for range b.N {
				must(b, s.Publish(m))
			}
			for _, read := range reads {
				read.Wait()
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "msg/s")
		})
	}
}

// BenchmarkRoundTrip is one request and its reply, nothing else under way.
func BenchmarkRoundTrip(b *testing.B) {
	for name, c := range map[string]wire.Connection{"tcp": onTCP(), "ipc": onIPC(b)} {
		b.Run(name, func(b *testing.B) {
			s, _ := open(b, c, Options{})
			go ours{s, wire.NewAuthor("kernel")}.run()
			r := connect(b, s, Shell, "me")
			r.SetDeadline(never)
			requests := make([][][]byte, b.N)
			for i := range requests {
				requests[i] = request("s", fmt.Sprint(i), 1)
			}
			b.ResetTimer()
			for _, q := range requests {
				must(b, r.send(q...))
				if _, err := r.recv(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkBareRouter and BenchmarkBarePub are the library's own sockets, for comparison; frames are ready made, so
// nothing is signed.
func BenchmarkBareRouter(b *testing.B) {
	router := zmq4.NewRouter(context.Background())
	defer router.Close()
	must(b, router.Listen("tcp://127.0.0.1:0"))
	c := onTCP()
	c.Shell = router.Addr().(*net.TCPAddr).Port
	r, err := join(c, Shell, "me")
	must(b, err)
	defer r.Close()
	r.SetDeadline(never)
	must(b, r.send(request("s", "r", 1)...))
	m, err := router.Recv()
	must(b, err)
	b.ReportAllocs()
	b.ResetTimer()
	read := r.drain(b.N)
	for range b.N {
		must(b, router.SendMulti(m))
	}
	read.Wait()
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "msg/s")
}

// BenchmarkBarePub: see BenchmarkBareRouter.
func BenchmarkBarePub(b *testing.B) {
	pub := zmq4.NewPub(context.Background())
	defer pub.Close()
	must(b, pub.Listen("tcp://127.0.0.1:0"))
	c := onTCP()
	c.IOPub = pub.Addr().(*net.TCPAddr).Port
	r, err := join(c, IOPub, "")
	must(b, err)
	defer r.Close()
	r.SetDeadline(never)
	must(b, r.subscribe())
	topics := pub.(zmq4.Topics)
	eventually(b, "the subscription is in force", func() bool { return len(topics.Topics()) == 1 })
	m := zmq4.NewMsgFrom(append([][]byte{[]byte("stream")}, request("s", "r", 1)...)...)
	b.ReportAllocs()
	b.ResetTimer()
	read := r.drain(b.N)
	for range b.N {
		must(b, pub.Send(m))
	}
	read.Wait()
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "msg/s")
}
