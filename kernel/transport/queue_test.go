package transport

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"testing"
)

func TestQueueKeepsOrder(t *testing.T) {
	here, there := net.Pipe()
	q := newQueue(here, 1<<20)
	go q.run()
	var want bytes.Buffer
	for i := range 500 {
		text := fmt.Sprintf("message %d;", i)
		want.WriteString(text)
		must(t, q.push([][]byte{[]byte(text[:3]), []byte(text[3:])}, int64(len(text))))
	}
	q.finish()
	if err := q.push([][]byte{{1}}, 1); !errors.Is(err, errFinishing) {
		t.Errorf("a push after finish: %v, want %v", err, errFinishing)
	}
	got := make([]byte, want.Len())
	if _, err := io.ReadFull(there, got); err != nil || !bytes.Equal(got, want.Bytes()) {
		t.Errorf("got %.60q and %v, want %.60q", got, err, want.Bytes())
	}
	<-q.done
	if n := q.left(); n != 0 {
		t.Errorf("%d bytes left, want 0", n)
	}
}

// A peer that does not read is cut off beyond the limit, not before, and a single message may be of any size.
func TestQueueIsBounded(t *testing.T) {
	here, there := net.Pipe() // nothing is buffered, so all that is pushed waits
	defer there.Close()
	q := newQueue(here, 1000)
	must(t, q.push([][]byte{make([]byte, 1000-overhead)}, 1000-overhead))
	must(t, q.push([][]byte{make([]byte, 5000)}, 5000))
	if err := q.push([][]byte{{1}}, 1); !errors.Is(err, errSlow) {
		t.Errorf("beyond the limit: %v, want %v", err, errSlow)
	}
	if _, err := here.Write([]byte{1}); !errors.Is(err, io.ErrClosedPipe) {
		t.Errorf("the connection of a slow peer: %v, want it closed", err)
	}
	q.run() // returns at once
	if err := q.push(nil, 0); !errors.Is(err, errSlow) {
		t.Errorf("after the failure: %v, want %v still", err, errSlow)
	}
}

func TestQueueFailsWithItsConnection(t *testing.T) {
	here, there := net.Pipe()
	q := newQueue(here, 1000)
	go q.run()
	there.Close()
	must(t, q.push([][]byte{{1}}, 1))
	<-q.done
	if err := q.push([][]byte{{1}}, 1); err == nil {
		t.Error("a push to a connection that failed succeeds")
	}
}

// A slow peer does not only lose its connection: the log says why.
func TestSlowPeer(t *testing.T) {
	s, j := open(t, onTCP(), Options{MaxQueue: 1 << 20})
	slow, quick := connect(t, s, IOPub, ""), connect(t, s, IOPub, "")
	must(t, slow.subscribe())
	must(t, quick.subscribe())
	subscribed(t, s, 2)
	for i := 0; !j.has(errSlow.Error()); i++ {
		if i == 1000 {
			t.Fatal("100 MB wait for a slow peer, and nothing happens")
		}
		must(t, s.Publish(bulk(t, fmt.Sprint("m", i), 100<<10)))
		if got, err := quick.recv(); err != nil || !mentions(got, fmt.Sprint("m", i)) {
			t.Fatalf("the other subscriber got %.80q and %v", got, err)
		}
	}
	if err := slow.ended(); err != nil {
		t.Error(err)
	}
}
