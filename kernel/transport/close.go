package transport

import (
	"context"
	"fmt"
	"net"
)

// Close ends the sockets: nothing new comes in, what was sent is delivered, then the connections are closed.
// It waits for the peers until ctx ends, and no longer than Options.Drain; the error says how many
// of them did not take everything in that time. A second call waits like the first.
//
// Delivered means that the peer has read it and closed its side in answer. To close at once would not do: with
// bytes of the peer still unread, tcp resets the connection, and what is on its way is lost.
func (s *Sockets) Close(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, s.options.Drain)
	defer cancel()
	s.mu.Lock()
	if !s.closed {
		s.closed = true
		close(s.closing)
		for _, l := range s.listeners {
			l.Close()
		}
		for conn, l := range s.links {
			if l.peer == nil {
				conn.Close()
			} else {
				l.peer.out.finish()
			}
		}
	}
	s.mu.Unlock()

	drained := make(chan struct{})
	go func() {
		s.running.Wait()
		close(drained)
	}()
	select {
	case <-drained:
		return nil
	case <-ctx.Done():
	}
	late, bytes := s.cut()
	<-drained
	if late > 0 {
		return fmt.Errorf("%d peers had not taken all that was sent to them, about %d bytes", late, bytes)
	}
	return nil
}

// cut closes the connections that are left, and counts those with something still to be sent.
func (s *Sockets) cut() (late int, bytes int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for conn, l := range s.links {
		if l.peer != nil {
			if n := l.peer.out.left(); n > 0 {
				late++
				bytes += n
			}
		}
		conn.Close()
	}
	return late, bytes
}

var _ net.Conn = (*guard)(nil)
