package transport

import (
	"net"
	"time"

	"wedgework/kernel/wire"
)

// Options bounds what peers can make us do. Zero fields take the defaults, which are choices.
type Options struct {
	// Log is told what was refused, dropped or closed, one line each; nil keeps silent. It is called from
	// several goroutines.
	Log func(line string)

	// Welcome makes the message that greets a subscription to a topic, by which clients of protocol 5.5 know that it
	// is in force; nil greets nobody. It is called from several goroutines.
	Welcome func(topic string) (*wire.Message, error)

	// Handshake is how long a new connection may take to say who it is. Default 5 s.
	Handshake time.Duration
	// Stall is how long a peer may pause in the middle of a message that it sends. Default 30 s.
	Stall time.Duration
	// Drain is how long Close waits for peers to take what was sent to them. Default 2 s.
	Drain time.Duration
	// Late is how long messages are kept for a subscriber that comes after its first request. A client that
	// tries to connect before we listen tries again after 0.1 to 0.2 s, each socket by itself. Default 2 s.
	Late time.Duration

	// MaxMessage is the greatest size of an incoming message in bytes. Default 256 MiB.
	MaxMessage int64
	// MaxInbound is the size in bytes of all messages that are coming in or wait for Receive. A peer
	// that goes beyond it is disconnected. Default 1 GiB.
	MaxInbound int64
	// MaxQueue is how many bytes may wait for one peer that does not read, before the last message. A peer
	// that falls further behind is disconnected. Default 128 MiB.
	MaxQueue int64
	// MaxPeers is the number of connections to one channel. Default 256.
	MaxPeers int

	// For tests: the clock of Late, and what opens the listeners.
	now    func() time.Time
	listen func(network, address string) (net.Listener, error)
}

func (o Options) withDefaults() Options {
	if o.Log == nil {
		o.Log = func(string) {}
	}
	if o.now == nil {
		o.now = time.Now
	}
	if o.listen == nil {
		o.listen = listen
	}
	byDefault(&o.Handshake, 5*time.Second)
	byDefault(&o.Stall, 30*time.Second)
	byDefault(&o.Drain, 2*time.Second)
	byDefault(&o.Late, 2*time.Second)
	byDefault(&o.MaxMessage, 256<<20)
	byDefault(&o.MaxInbound, 1<<30)
	byDefault(&o.MaxQueue, 128<<20)
	byDefault(&o.MaxPeers, 256)
	return o
}

func byDefault[T int | int64 | time.Duration](field *T, value T) {
	if *field <= 0 {
		*field = value
	}
}
