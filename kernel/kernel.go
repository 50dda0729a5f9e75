package kernel

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"wedgework/kernel/history"
	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
)

// Config is what a kernel is made of.
type Config struct {
	Sockets     Sockets
	Author      *wire.Author // of the kernel's messages
	Interpreter Interpreter
	History     *history.Store
	Info        Info
	// Watch is told of every cell that begins and ends, for who has to explain the end of the process; it may
	// be nil.
	Watch Watch
	// Notice is shown to whoever runs the first cell, on standard error; it may be empty.
	Notice string
	// Rest is called when a while has gone by since the last request on shell was answered; it may be nil.
	Rest func()
	// Log is told of requests that were not understood, one line each; nil keeps silent. It is called from
	// several goroutines.
	Log func(line string)
}

// Info is what the kernel says about itself.
type Info struct {
	Name, Version, Banner string
	Language              map[string]any // language_info, as the protocol has it
	Links                 []Link
}

// Link is a page of help that front ends put into their menu.
type Link struct {
	Text string `json:"text"`
	URL  string `json:"url"`
}

// Watch is told which cell runs.
type Watch interface {
	Begin(number int, source string)
	End()
}

// Kernel serves the requests of front ends.
type Kernel struct {
	Config
	handlers map[string]handler

	// Of the goroutine that serves shell.
	count   int      // of the cells that were stored
	pending []queued // taken from the sockets ahead of time
	noticed bool     // the notice has been shown

	rest *time.Timer // of Rest

	quitting  context.Context // ends with the serving, and so does the running cell
	quit      context.CancelFunc
	restart   atomic.Bool   // a front end wants to start a kernel anew
	shellDone chan struct{} // closed when shell is served no more

	mu     sync.Mutex
	cancel context.CancelFunc // of the running cell, or nil
}

// patience is how long the end of the kernel waits for a cell that was interrupted. Words of ours take at most a
// tenth of it; what takes longer is left behind, for the process ends.
const patience = time.Second

// restAfter is how long a person is away before the kernel tidies up: long against the pause between two cells that
// are run one by one. A choice.
const restAfter = 5 * time.Second

// New returns a kernel that has not begun to serve.
func New(c Config) *Kernel {
	if c.Log == nil {
		c.Log = func(string) {}
	}
	if c.Rest == nil {
		c.Rest = func() {}
	}
	k := &Kernel{Config: c, handlers: handlers(), shellDone: make(chan struct{})}
	k.rest = time.AfterFunc(restAfter, c.Rest)
	k.rest.Stop()
	k.quitting, k.quit = context.WithCancel(context.Background())
	return k
}

// Serve serves requests until a front end asks for the end, ctx ends, or the sockets close, which is an error.
// It reports whether the front end wants to start a kernel anew. It is called once.
func (k *Kernel) Serve(ctx context.Context) (restart bool, err error) {
	defer context.AfterFunc(ctx, k.quit)()
	k.publish(nil, "status", status("starting"))
	ended := make(chan error, 2)
	go func() {
		defer close(k.shellDone)
		ended <- k.serve(transport.Shell)
	}()
	go func() { ended <- k.serve(transport.Control) }()
	go k.drainStdin()

	<-k.quitting.Done()
	late := time.After(2 * patience)
	for range 2 {
		select {
		case e := <-ended:
			err = errors.Join(err, e)
		case <-late:
			k.Log("a cell could not be interrupted and is left behind")
			return k.restart.Load(), err
		}
	}
	return k.restart.Load(), err
}

// Interrupt interrupts the cell that runs, if one does.
func (k *Kernel) Interrupt() {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.cancel != nil {
		k.cancel()
	}
}

// queued is a request that waits its turn on shell.
type queued struct {
	message *wire.Message
	abort   bool // a cell before it has failed
}

// serve serves one channel, one request after another.
func (k *Kernel) serve(channel transport.Channel) error {
	defer k.quit()
	if channel == transport.Shell {
		defer k.rest.Stop()
	}
	for {
		q, err := k.next(channel)
		switch {
		case k.quitting.Err() != nil:
			return nil
		case err != nil:
			return fmt.Errorf("%s: %w", channel, err)
		}
		if channel == transport.Shell {
			k.rest.Stop()
		}
		k.dispatch(&request{Message: q.message, channel: channel, abort: q.abort})
		if channel == transport.Shell {
			k.rest.Reset(restAfter)
		}
	}
}

func (k *Kernel) next(channel transport.Channel) (queued, error) {
	if channel == transport.Shell && len(k.pending) > 0 {
		q := k.pending[0]
		k.pending = k.pending[1:]
		return q, nil
	}
	_, m, err := k.Sockets.Receive(k.quitting, channel)
	return queued{message: m}, err
}

// drainStdin takes what comes in on stdin. No cell asks for input: it would not be there when the notebook is
// run again with nobody at the keyboard.
func (k *Kernel) drainStdin() {
	for {
		_, m, err := k.Sockets.Receive(k.quitting, transport.Stdin)
		if err != nil {
			return
		}
		k.Log(fmt.Sprintf("stdin: %s: no cell has asked for input", printable(m.Header.Type)))
	}
}
