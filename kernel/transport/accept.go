package transport

import (
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"syscall"
	"time"
)

// The pause after a failed accept doubles from the first to the last. Without it a process that has no
// descriptors left would spend a whole core on asking for one.
const (
	firstPause = 5 * time.Millisecond
	lastPause  = time.Second
)

// accept takes connections to one channel in until the listener is closed.
func (s *Sockets) accept(channel Channel, l net.Listener) {
	defer s.running.Done()
	pause := firstPause
	for {
		conn, err := l.Accept()
		switch {
		case err == nil:
			pause = firstPause
			s.admit(channel, conn)
		case errors.Is(err, net.ErrClosed):
			return
		default:
			if pause == firstPause { // once in a row
				s.options.Log(fmt.Sprintf("%s: cannot accept connections: %v", channel, err))
			}
			select {
			case <-time.After(pause):
			case <-s.closing:
				return
			}
			pause = min(2*pause, lastPause)
		}
	}
}

// admit starts to serve a connection. Where there are too many already, one gives way to it, or it is refused.
func (s *Sockets) admit(channel Channel, conn net.Conn) {
	s.mu.Lock()
	full := s.count[channel] >= s.options.MaxPeers
	if s.closed || full && !s.giveWay(channel) {
		full = !s.closed
		s.mu.Unlock()
		conn.Close()
		if full {
			s.options.Log(fmt.Sprintf("%s: more than %d connections, one refused", channel, s.options.MaxPeers))
		}
		return
	}
	s.number++
	l := &link{conn: conn, channel: channel, number: s.number}
	s.count[channel]++
	s.links[conn] = l
	s.running.Add(1)
	if full {
		s.away[channel]++
	}
	away := s.away[channel]
	s.mu.Unlock()
	if full {
		s.wayGiven(channel, away)
	}
	go func() {
		defer s.running.Done()
		defer s.dismiss(l)
		err := safely(func() error { return s.serve(l) })
		if err != nil && !ordinary(err) {
			s.ended(channel, l.number, err)
		}
	}()
}

// ended logs why a connection ended: the first few of a channel, then ever fewer.
func (s *Sockets) ended(channel Channel, number uint64, why error) {
	s.mu.Lock()
	s.broken[channel]++
	n := s.broken[channel]
	s.mu.Unlock()
	if worthALine(n) {
		s.options.Log(fmt.Sprintf("%s: connection %d closed: %v (%d so far)", channel, number, why, n))
	}
}

// worthALine reports whether the n-th of many alike is logged: who sends garbage must not fill the log.
func worthALine(n int64) bool { return n <= 4 || n&(n-1) == 0 }

// ordinary reports whether a connection ended as that of a client which is done, or was killed.
func ordinary(err error) bool {
	return errors.Is(err, io.EOF) || errors.Is(err, net.ErrClosed) || errors.Is(err, syscall.ECONNRESET)
}

func (s *Sockets) dismiss(l *link) {
	l.conn.Close()
	s.mu.Lock()
	defer s.mu.Unlock()
	if !l.away {
		s.count[l.channel]--
	}
	delete(s.links, l.conn)
}

// serve talks to one peer until it goes. Its error says why.
func (s *Sockets) serve(l *link) error {
	defer s.spent(l)
	p, err := meet(l, s.options, func(n int64) bool { return s.room(l, n) })
	if err != nil {
		if errors.Is(err, os.ErrDeadlineExceeded) {
			return fmt.Errorf("no handshake within %v", s.options.Handshake)
		}
		return unwrapped(err)
	}
	s.mu.Lock()
	if s.closed {
		s.mu.Unlock()
		return nil
	}
	l.peer = p
	s.mu.Unlock()
	go p.out.run()
	defer func() {
		l.conn.Close() // ends a write that hangs
		p.out.finish()
		<-p.out.done
	}()
	s.peers[l.channel].add(p)
	defer s.peers[l.channel].remove(p)
	defer s.publisher.leave(p)
	for {
		frames, err := p.receive()
		if err != nil {
			return s.cause(p, err)
		}
		s.take(p, frames)
	}
}

// cause is why a connection ended: what the queue says when that failed first.
func (s *Sockets) cause(p *peer, err error) error {
	p.out.mu.Lock()
	defer p.out.mu.Unlock()
	if p.out.err != nil {
		return p.out.err
	}
	return unwrapped(err)
}

// unwrapped takes the library's words away from an error of ours.
func unwrapped(err error) error {
	var v violation
	if errors.As(err, &v) {
		return v
	}
	return err
}
