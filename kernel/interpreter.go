package kernel

import (
	"context"

	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
	"wedgework/reports/notebook"
)

// Sockets is what the kernel needs of its transport; *transport.Sockets is one. Its methods may be called from
// any goroutine.
type Sockets interface {
	// Receive waits for the next message on the channels named. What has come in already is returned even
	// when ctx has ended.
	Receive(ctx context.Context, from ...transport.Channel) (transport.Channel, *wire.Message, error)
	// Send queues a message for the peer of its identities.
	Send(transport.Channel, *wire.Message) error
	// Publish queues a message for every subscriber.
	Publish(*wire.Message) error
}

// Interpreter runs the cells. Run is called for one cell at a time that is no Aside; asides and the other methods may
// be called while a cell runs.
type Interpreter interface {
	// Run runs a cell and hands its outputs to emit as they come, the error included. It returns that error,
	// nil when the cell is done. When ctx ends, so does the cell.
	Run(ctx context.Context, c Cell, emit func(notebook.Output)) *notebook.Error
	// Flush hands on what the running cell has printed and not emitted yet.
	Flush()
	// Value returns an expression's value as the data of an output, by MIME type.
	Value(ctx context.Context, expression string) (map[string]any, *notebook.Error)
	// IsComplete tells whether source is ready to run: "complete", "incomplete" with the indentation of the
	// next line, or "invalid".
	IsComplete(source string) (status, indent string)
	// Complete proposes what may stand at the cursor, counted in code points.
	Complete(source string, cursor int) Completion
	// Inspect describes what is at the cursor by MIME type, in more detail with a detail of 1. It is nil when
	// there is nothing to say.
	Inspect(source string, cursor, detail int) map[string]any
	// Comm takes a message of a front end's comm. Waiting are the comms of messages that came in behind it. What
	// the message changes goes out through out.
	Comm(ctx context.Context, m Comm, waiting []string, out Outlet) error
	// Comms lists the open comms with a target, all of them when target is empty, by their ids.
	Comms(target string) map[string]string
}

// Comm is a message on a comm, a channel between front end and kernel that lives beside the cells.
type Comm struct {
	Type     string // comm_open, comm_msg or comm_close
	ID       string
	Target   string // of a comm_open
	Data     map[string]any
	Metadata map[string]any // of the message; nil: none
}

// Outlet is where what an interpreter shows goes: outputs, and messages on comms.
type Outlet struct {
	Emit func(notebook.Output)
	Comm func(Comm)
}

// Cell is one piece of source to run.
type Cell struct {
	Number int  // the execution count
	Silent bool // the cell is the front end's own affair: it must leave no trace of its value
	Stored bool // the number is this cell's alone
	Source string
	// Aside: an expression that is evaluated beside the cells, even while one runs, and leaves no name behind.
	Aside bool
	// Page shows data by MIME type in the front end's pager; nil when nobody reads it there.
	Page func(data map[string]any)
	// Comm sends a message on a comm to the front ends.
	Comm func(Comm)
}

// Completion is what may stand in place of the code points from Start to End.
type Completion struct {
	Start, End int
	Matches    []Match
}

// Match is one proposal.
type Match struct {
	Text   string // what replaces the range
	Kind   string // "function", "instance", ... as front ends name them, or ""
	Detail string // a few words about it, or ""
}
