package session

import (
	"strings"
	"sync"

	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

// chunk is the most that is printed before it goes out. In pieces of 8 kB, 10,000 lines take a Jupyter client about
// twice as long: every message costs it the same, however short.
const chunk = 64 << 10

// collector gathers what a cell prints into few stream outputs, and keeps it in order with everything
// else the cell emits. Words may emit from goroutines of their own.
type collector struct {
	mu      sync.Mutex
	emit    func(notebook.Output)
	bounds  Bounds
	pending strings.Builder
	printed int
	outputs int
	shown   map[string]bool // the displays of this cell, by their names
	// cautions are those that the cell has shown: what clears its outputs does not clear them.
	cautions []notebook.Output
	again    bool                  // the outputs were cleared: the cautions come before what comes next
	watched  func(notebook.Output) // while outputs are gathered, where the progress of work goes; else nil
}

func (c *collector) print(text string) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.emit == nil {
		return ErrIdle
	}
	room := c.bounds.Output - c.printed
	over := len(text) > room
	if over {
		text = strings.ToValidUTF8(text[:room], "")
	}
	c.printed += len(text)
	c.pending.WriteString(text)
	if c.pending.Len() >= chunk || over {
		c.flush()
	}
	if over {
		c.printed = c.bounds.Output
		return overLimit("print: this cell has printed more than the limit of %d bytes", c.bounds.Output)
	}
	return nil
}

// send emits an output after what was printed before it.
func (c *collector) send(o notebook.Output) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.emit == nil {
		return ErrIdle
	}
	c.flush()
	if c.outputs++; c.outputs > c.bounds.Outputs {
		return overLimit("this cell has shown more than the limit of %d outputs", c.bounds.Outputs)
	}
	c.remind()
	c.emit(c.inPlace(o))
	switch {
	case isCaution(o):
		c.cautions = append(c.cautions, o)
	case o.Type == notebook.ClearOutput && o.Wait:
		c.again = len(c.cautions) > 0
	case o.Type == notebook.ClearOutput:
		c.again = len(c.cautions) > 0
		c.remind()
	}
	return nil
}

// isCaution reports whether an output is nothing but cautions.
func isCaution(o notebook.Output) bool {
	for _, b := range o.Blocks {
		if _, ok := b.(document.Caution); !ok {
			return false
		}
	}
	return len(o.Blocks) > 0
}

// remind shows the cautions again that were cleared. It is called with the lock held.
func (c *collector) remind() {
	if !c.again {
		return
	}
	c.again = false
	for _, o := range c.cautions {
		c.emit(o)
	}
}

// inPlace makes an update of a display whose name this cell shows already: it is to stand where that does.
func (c *collector) inPlace(o notebook.Output) notebook.Output {
	switch {
	case o.Type == notebook.ClearOutput:
		c.shown = nil
	case o.Type != notebook.DisplayOutput || o.DisplayID == "":
	case c.shown[o.DisplayID]:
		o.Type = notebook.UpdateOutput
	default:
		if c.shown == nil {
			c.shown = map[string]bool{}
		}
		c.shown[o.DisplayID] = true
	}
	return o
}

// close emits what is left and then, if the cell failed, its error.
func (c *collector) close(failure *notebook.Output) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.flush()
	if failure != nil {
		c.emit(*failure)
	}
	c.emit = nil // a goroutine of a word may outlive its cell, and has nobody to talk to then
}

// divert sends what is emitted to another receiver until the returned function is called.
func (c *collector) divert(to func(notebook.Output)) (back func()) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.flush()
	emit, shown, watched := c.emit, c.shown, c.watched
	c.emit, c.shown = to, nil
	if watched == nil {
		c.watched = emit
	}
	return func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		c.flush()
		c.emit, c.shown, c.watched = emit, shown, watched
	}
}

// flush is called with the lock held.
func (c *collector) flush() {
	if c.pending.Len() == 0 || c.emit == nil {
		return
	}
	c.remind()
	c.emit(notebook.Output{Type: notebook.StreamOutput, Stream: "stdout", Text: c.pending.String()})
	c.pending.Reset()
}
