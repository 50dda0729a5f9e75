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

	main    *shell
	serving sync.WaitGroup // of subshells

	count   atomic.Int64 // of the cells that were stored; only the main shell changes it
	noticed bool         // the notice has been shown; of the main shell

	rest *time.Timer // of Rest

	quitting  context.Context // ends with the serving, and so does the running cell
	quit      context.CancelFunc
	restart   atomic.Bool   // a front end wants to start a kernel anew
	shellDone chan struct{} // closed when shell is served no more

	mu        sync.Mutex
	cancels   map[int]context.CancelFunc // of what runs: a cell, and what subshells do
	last      int                        // key of cancels
	subshells []*shell                   // that which was asked last at the end
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
	k := &Kernel{Config: c, handlers: handlers(), shellDone: make(chan struct{}), main: newShell(""),
		cancels: map[int]context.CancelFunc{}}
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
	const parts = 4
	ended := make(chan error, parts)
	go func() {
		defer k.quit()
		ended <- k.sort()
	}()
	go func() {
		defer close(k.shellDone)
		k.serve(k.main)
		k.rest.Stop()
		ended <- nil
	}()
	go func() {
		defer k.quit()
		ended <- k.serveControl()
	}()
	go k.drainStdin()

	<-k.quitting.Done()
	late := time.After(2 * patience)
	go func() {
		k.counted()
		k.serving.Wait()
		ended <- nil
	}()
	for range parts {
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

// counted waits until a subshell that is being created is counted; once the kernel quits, none is created any more.
func (k *Kernel) counted() {
	k.mu.Lock()
	defer k.mu.Unlock()
}

// Interrupt interrupts the cell that runs, if one does, and what subshells do: an interruption is the process's.
func (k *Kernel) Interrupt() {
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, cancel := range k.cancels {
		cancel()
	}
}

// serveControl serves control, one request after another.
func (k *Kernel) serveControl() error {
	for {
		_, m, err := k.Sockets.Receive(k.quitting, transport.Control)
		switch {
		case k.quitting.Err() != nil:
			return nil
		case err != nil:
			return fmt.Errorf("%s: %w", transport.Control, err)
		}
		k.dispatch(&request{Message: m, channel: transport.Control})
	}
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
