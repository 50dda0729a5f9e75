package transport

import "fmt"

// Channel is one of the five sockets of a kernel.
type Channel int

// The channels. Messages come in on Control, Stdin and Shell.
const (
	Control Channel = iota
	Stdin
	Shell
	IOPub
	Heartbeat
	channels int = iota
)

func (c Channel) String() string {
	switch c {
	case Control:
		return "control"
	case Stdin:
		return "stdin"
	case Shell:
		return "shell"
	case IOPub:
		return "iopub"
	case Heartbeat:
		return "heartbeat"
	}
	return fmt.Sprintf("channel %d", int(c))
}
