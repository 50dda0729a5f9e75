package transport

import (
	"context"
	"errors"
	"fmt"
	"net"
	"sync"

	"wedgework/kernel/wire"
)

// Errors of Sockets.
var (
	// ErrClosed is the error of everything after Close.
	ErrClosed = errors.New("the sockets are closed")
	// ErrGone is the error of Send when the peer is not connected any more.
	ErrGone = errors.New("the peer is gone")
)

// waiting is how many messages of one channel are read ahead of Receive. A reader that has to wait for room
// does not answer heartbeats, so it is generous: a choice.
const waiting = 1024

// Sockets are the five sockets of a kernel. All methods may be called from any goroutine.
type Sockets struct {
	connection wire.Connection
	options    Options
	codec      *wire.Codec
	listeners  [channels]net.Listener
	peers      [channels]directory
	publisher  *publisher
	funds      budget
	inbox      [channels]chan incoming

	closing chan struct{}  // closed by Close
	running sync.WaitGroup // every goroutine but the writers, which their readers wait for

	mu     sync.Mutex // over the fields below
	closed bool
	number uint64 // of the last connection
	count  [channels]int
	broken [channels]int64 // connections that ended otherwise than those of clients do
	away   [channels]int64 // connections that gave way to others
	links  map[net.Conn]*link
}

type incoming struct {
	message *wire.Message
	size    int64 // drawn from the funds
}

// Open listens at the five addresses of a connection. Over tcp a port of 0 is any free one; Connection tells
// which. Shell listens last, so that a client that can connect there can connect everywhere.
func Open(c wire.Connection, o Options) (*Sockets, error) {
	if err := c.Check(); err != nil {
		return nil, err
	}
	codec, err := wire.NewCodec(c.Key, c.Scheme)
	if err != nil {
		return nil, err
	}
	s := &Sockets{
		connection: c, options: o.withDefaults(), codec: codec,
		closing: make(chan struct{}), links: map[net.Conn]*link{},
	}
	s.publisher = newPublisher(s.options.Late, s.options.now)
	if o.Welcome != nil {
		s.publisher.welcome = s.greeting
	}
	s.funds.limit = s.options.MaxInbound
	s.funds.strangers = s.options.MaxInbound / 4
	for _, channel := range []Channel{Control, Stdin, Shell} {
		s.inbox[channel] = make(chan incoming, waiting)
	}
	for _, channel := range []Channel{Heartbeat, IOPub, Stdin, Control, Shell} {
		port := s.port(channel)
		network, address := c.Address(*port)
		l, err := s.options.listen(network, address)
		if err != nil {
			for _, l := range s.listeners {
				if l != nil {
					l.Close()
				}
			}
			return nil, fmt.Errorf("%s: %w", channel, err)
		}
		s.listeners[channel] = l
		if a, ok := l.Addr().(*net.TCPAddr); ok {
			*port = a.Port
		}
	}
	for channel, l := range s.listeners {
		s.running.Add(1)
		go s.accept(Channel(channel), l)
	}
	return s, nil
}

// greeting is the message that greets a subscription, in frames. Its topic is that of the subscription.
func (s *Sockets) greeting(topic string) [][]byte {
	m, err := s.options.Welcome(topic)
	if err == nil {
		var frames [][]byte
		if frames, err = s.codec.Encode(m); err == nil {
			return frames
		}
	}
	s.options.Log(err.Error())
	return nil
}

func (s *Sockets) port(channel Channel) *int {
	c := &s.connection
	return [channels]*int{Control: &c.Control, Stdin: &c.Stdin, Shell: &c.Shell, IOPub: &c.IOPub,
		Heartbeat: &c.Heartbeat}[channel]
}

// Connection is where the sockets listen, with the ports they have got.
func (s *Sockets) Connection() wire.Connection { return s.connection }

// take deals with one message of a peer. What is not a message of the protocol is dropped and logged.
func (s *Sockets) take(p *peer, frames [][]byte) {
	p.link.heard.Store(true)
	switch p.channel {
	case Heartbeat:
		p.send(frames) // as it came, with the empty frame that a REQ socket puts first
		s.spent(p.link)
		return
	case IOPub:
		if !s.publisher.subscription(p, frames) {
			s.refuse(p, errors.New("not a subscription"))
		}
		s.spent(p.link)
		return
	}
	m, err := s.codec.Decode(append([][]byte{[]byte(p.token)}, frames...))
	if err != nil {
		s.refuse(p, err)
		s.spent(p.link)
		return
	}
	size := s.admitted(p.link)
	s.publisher.hear(m.Header.Session)
	select {
	case s.inbox[p.channel] <- incoming{m, size}:
	case <-s.closing: // read on, for the end of the connection, but nobody wants it
		s.funds.pay(size, false)
	}
}

// refuse logs a dropped message: the first few of a connection, then ever fewer.
func (s *Sockets) refuse(p *peer, why error) {
	p.refused++
	if n := p.refused; worthALine(n) {
		s.options.Log(fmt.Sprintf("%s: %v (%d so far)", p, why, n))
	}
}

// Receive waits for the next message on the channels named, of Control, Stdin and Shell; without any, on all
// three. Where several have one, control comes first and shell last. The message has been checked; its
// identities lead back to its peer through Send. The error is that of ctx, or ErrClosed.
func (s *Sockets) Receive(ctx context.Context, from ...Channel) (Channel, *wire.Message, error) {
	inbox := s.inbox
	if len(from) > 0 {
		inbox = [channels]chan incoming{}
		for _, channel := range from {
			inbox[channel] = s.inbox[channel]
		}
	}
	select {
	case <-s.closing: // what is left in the inbox could not be answered
		return 0, nil, ErrClosed
	default:
	}
	// A select chooses at random among what is ready, hence in order first.
	for _, channel := range []Channel{Control, Stdin, Shell} {
		select {
		case in := <-inbox[channel]:
			return s.received(channel, in)
		default:
		}
	}
	select {
	case in := <-inbox[Control]:
		return s.received(Control, in)
	case in := <-inbox[Stdin]:
		return s.received(Stdin, in)
	case in := <-inbox[Shell]:
		return s.received(Shell, in)
	case <-ctx.Done():
		return 0, nil, ctx.Err()
	case <-s.closing:
		return 0, nil, ErrClosed
	}
}

func (s *Sockets) received(channel Channel, in incoming) (Channel, *wire.Message, error) {
	s.funds.pay(in.size, false)
	return channel, in.message, nil
}

// Send queues a message for the one peer that its first identity names, on Control, Stdin or Shell, and does
// not wait for it. The identities are those of a request, from whichever channel that came. The message
// must not be changed any more. The error is ErrGone when the peer is not connected.
func (s *Sockets) Send(channel Channel, m *wire.Message) error {
	if channel != Control && channel != Stdin && channel != Shell {
		return fmt.Errorf("send on %s: want control, stdin or shell", channel)
	}
	if len(m.Identities) == 0 {
		return fmt.Errorf("send %s: no identity says which peer it is for", m.Header.Type)
	}
	frames, err := s.codec.Encode(m)
	if err != nil {
		return err
	}
	p := s.peers[channel].find(frames[0])
	if p == nil {
		return fmt.Errorf("send %s on %s: %w", m.Header.Type, channel, ErrGone)
	}
	if err := p.send(frames[1:]); err != nil {
		return fmt.Errorf("send %s on %s: %w", m.Header.Type, channel, err)
	}
	return nil
}

// Publish queues a message for every subscriber, and does not wait for them. Its first identity is the topic;
// without one the message type is. The message must not be changed any more.
func (s *Sockets) Publish(m *wire.Message) error {
	if len(m.Identities) == 0 {
		with := *m
		with.Identities = [][]byte{[]byte(m.Header.Type)}
		m = &with
	}
	frames, err := s.codec.Encode(m)
	if err != nil {
		return err
	}
	s.publisher.publish(frames, m.Parent.Session)
	return nil
}
