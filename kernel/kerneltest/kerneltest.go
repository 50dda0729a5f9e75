// Package kerneltest puts a kernel on a table: sockets in memory, clients for them, and a check of what the
// protocol asks of every exchange of messages. Tests of the kernel, and of any part of it, use it.
package kerneltest

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
)

// Record is one message that went out.
type Record struct {
	Channel transport.Channel // transport.IOPub for a publication
	*wire.Message
}

// Sockets is a transport in memory. Everything that is sent stays in the log, in order.
type Sockets struct {
	inbox map[transport.Channel]chan *wire.Message

	mu     sync.Mutex
	log    []Record
	grown  chan struct{} // closed and made anew when the log grows
	closed chan struct{}
}

// NewSockets returns sockets without clients.
func NewSockets() *Sockets {
	s := &Sockets{inbox: map[transport.Channel]chan *wire.Message{}, grown: make(chan struct{}),
		closed: make(chan struct{})}
	for _, c := range []transport.Channel{transport.Shell, transport.Control, transport.Stdin} {
		s.inbox[c] = make(chan *wire.Message, 4096)
	}
	return s
}

// Receive waits for the next message on the channels named, all of them when none is.
func (s *Sockets) Receive(ctx context.Context, from ...transport.Channel) (transport.Channel, *wire.Message, error) {
	inbox := map[transport.Channel]chan *wire.Message{}
	for c, in := range s.inbox {
		if len(from) == 0 || slices.Contains(from, c) {
			inbox[c] = in
		}
	}
	for _, c := range []transport.Channel{transport.Control, transport.Stdin, transport.Shell} {
		select {
		case m := <-inbox[c]:
			return c, m, nil
		default:
		}
	}
	select {
	case m := <-inbox[transport.Control]:
		return transport.Control, m, nil
	case m := <-inbox[transport.Stdin]:
		return transport.Stdin, m, nil
	case m := <-inbox[transport.Shell]:
		return transport.Shell, m, nil
	case <-ctx.Done():
		return 0, nil, ctx.Err()
	case <-s.closed:
		return 0, nil, transport.ErrClosed
	}
}

// Send keeps a message for the peer of its identities.
func (s *Sockets) Send(c transport.Channel, m *wire.Message) error {
	s.add(Record{c, m})
	return nil
}

// Publish keeps a message for everyone.
func (s *Sockets) Publish(m *wire.Message) error {
	s.add(Record{transport.IOPub, m})
	return nil
}

func (s *Sockets) add(r Record) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.log = append(s.log, r)
	close(s.grown)
	s.grown = make(chan struct{})
}

// Close makes Receive fail from now on.
func (s *Sockets) Close() { close(s.closed) }

// Log returns everything that was sent so far, in order.
func (s *Sockets) Log() []Record {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.log)
}

// About returns what was sent about a request so far, in order.
func (s *Sockets) About(request *wire.Message) []Record {
	return About(s.Log(), request)
}

// About returns the records about a request, in order.
func About(log []Record, request *wire.Message) []Record {
	var about []Record
	for _, r := range log {
		if r.Parent.ID == request.Header.ID {
			about = append(about, r)
		}
	}
	return about
}

// Wait waits until the log is as wanted. The error says what was there at the end of its patience, which no test
// comes near unless it fails.
func (s *Sockets) Wait(wanted func(log []Record) bool) error {
	late := time.After(30 * time.Second)
	for {
		s.mu.Lock()
		grown, log := s.grown, slices.Clone(s.log)
		s.mu.Unlock()
		if wanted(log) {
			return nil
		}
		select {
		case <-grown:
		case <-late:
			return fmt.Errorf("the message waited for did not come; sent so far: %s", Summary(log))
		}
	}
}

// Client is one front end.
type Client struct {
	sockets *Sockets
	author  *wire.Author
}

// Client returns a new front end, with a session of this name.
func (s *Sockets) Client(name string) *Client {
	return &Client{s, &wire.Author{Session: name, User: "engineer", Now: time.Now, NewID: wire.Counted(name + "-")}}
}

// Send sends a request and does not wait.
func (c *Client) Send(channel transport.Channel, msgType string, content any) (*wire.Message, error) {
	return c.SendTo(channel, "", msgType, content)
}

// SendTo is Send to a subshell.
func (c *Client) SendTo(channel transport.Channel, subshell, msgType string, content any) (*wire.Message, error) {
	m, err := c.author.Publication(nil, msgType, content)
	if err != nil {
		return nil, err
	}
	m.Header.Subshell = subshell
	m.Identities = [][]byte{[]byte(c.author.Session)}
	c.sockets.inbox[channel] <- m
	return m, nil
}

// Ask sends a request, waits until the kernel is idle again and returns what was sent about it.
func (c *Client) Ask(channel transport.Channel, msgType string, content any) ([]Record, error) {
	m, err := c.Send(channel, msgType, content)
	if err != nil {
		return nil, err
	}
	err = c.sockets.Wait(func(log []Record) bool { return Done(About(log, m)) })
	return c.sockets.About(m), err
}

// Done reports whether records about a request end with an idle.
func Done(about []Record) bool {
	return slices.ContainsFunc(about, func(r Record) bool { return state(r.Message) == "idle" })
}

func state(m *wire.Message) string {
	var c struct {
		State string `json:"execution_state"`
	}
	if m.Header.Type != "status" || m.Read(&c) != nil {
		return ""
	}
	return c.State
}

// Summary lists the types of messages, the states of status ones.
func Summary(log []Record) string {
	text := ""
	for i, r := range log {
		if i > 0 {
			text += " "
		}
		if s := state(r.Message); s != "" {
			text += s
		} else {
			text += r.Header.Type
		}
	}
	return text
}
