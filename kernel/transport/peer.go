package transport

import (
	"fmt"
	"io"
	"sync"
	"time"

	"github.com/go-zeromq/zmq4"
	"github.com/go-zeromq/zmq4/security/null"
)

// peer is one connection whose handshake is done.
type peer struct {
	channel Channel
	token   string
	link    *link
	guard   *guard
	zmtp    *zmq4.Conn
	out     *queue

	sending sync.Mutex // keeps the frames of a message together

	refused  int64               // messages dropped so far; touched by the reader only
	topics   map[string]struct{} // what it subscribes to; under the publisher's lock
	welcomed bool                // it has had what it missed; likewise
}

// socketType is what we are on each channel.
var socketType = [channels]zmq4.SocketType{
	Control: zmq4.Router, Stdin: zmq4.Router, Shell: zmq4.Router, IOPub: zmq4.XPub, Heartbeat: zmq4.Rep,
}

// meet does the handshake.
func meet(l *link, o Options, draw func(n int64) bool) (*peer, error) {
	conn := l.conn
	p := &peer{channel: l.channel, link: l, guard: newGuard(conn, l.channel, o, draw)}
	conn.SetDeadline(time.Now().Add(o.Handshake))
	var err error
	p.zmtp, err = zmq4.Open(p.guard, null.Security(), socketType[l.channel], nil, true, nil)
	if err != nil {
		return nil, err
	}
	conn.SetDeadline(time.Time{})
	p.token = token(l.number, p.zmtp.Peer.Meta["Identity"])
	p.out = newQueue(conn, o.MaxQueue)
	p.guard.ping = func(context []byte) error {
		return p.write(func() error { return p.zmtp.SendCmd(zmq4.CmdPong, context) })
	}
	return p, nil
}

// send queues a message.
func (p *peer) send(frames [][]byte) error {
	return p.write(func() error { return p.zmtp.SendMsg(zmq4.NewMsgFrom(frames...)) })
}

func (p *peer) write(compose func() error) error {
	p.sending.Lock()
	defer p.sending.Unlock()
	err := compose()
	chunks, size := p.guard.take()
	if err != nil {
		return err
	}
	return p.out.push(chunks, size)
}

// receive waits for a message.
func (p *peer) receive() (frames [][]byte, err error) {
	m, err := p.zmtp.RecvMsg()
	return m.Frames, err
}

func (p *peer) String() string {
	if id := p.token[ticket:]; id != "" {
		return fmt.Sprintf("%s peer %.40q", p.channel, id)
	}
	return fmt.Sprintf("%s peer %x", p.channel, p.token[:ticket])
}

// safely calls f and makes a panic its error: the library must not be able to end the process.
func safely(f func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("the socket library failed: %v", r)
		}
	}()
	return f()
}

var _ io.Writer = (*guard)(nil)
