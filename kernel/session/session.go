package session

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"maps"
	"sync"
	"sync/atomic"
	"unicode"

	"go.starlark.net/starlark"

	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

// Config says what the cells of a session can use and how their values are shown.
type Config struct {
	// Words are the names that are there before the first cell. A word may replace a built-in function.
	Words starlark.StringDict
	// Local is put on the thread of every cell, for words to find with thread.Local.
	Local map[string]any
	// Show turns the value of a cell's last expression into what people see. When nil, and when it
	// returns the zero Shown, the value is shown as text, which ends where it becomes too long. It looks at no
	// more than the outermost parts of a value.
	Show func(starlark.Value) (Shown, error)
	// Bundle turns blocks into the data of an output, by MIME type. When nil, blocks are shown by
	// their Text alone.
	Bundle func([]document.Block) map[string]any
	// Outline says what values of a type have, by the name of the type; nil for one it does not know. It
	// may be nil.
	Outline func(typ string) *Outline
	// Keys proposes the keys of a dict that is written by itself. It may be nil.
	Keys func(Site) []Match
	// Describe tells of a value that is no Describer, as a Describer would. When nil, it is shown as text.
	Describe func(v starlark.Value, detail int) []document.Block
	// Spellings are what people write for a name of the session, as nanometres for nm, and the name; or a line that
	// says what to write instead, with a space in it. It may be nil.
	Spellings map[string]string
	// Progress is told of work that takes longer than half a second: at most ten times a second while it
	// goes on, and once when it is over. It is called from a goroutine of its own and hands outputs to
	// emit. When nil, nobody watches. What is told depends on the time a machine takes: where runs are to be
	// alike to the byte, nobody must.
	Progress func(p Progress, emit func(notebook.Output) error)
	// Traceback writes the lines of an error for the output of a cell; nil: its Lines.
	Traceback func(*Error) []string
	// Source reads a file of cell source that a cell loads names from. When nil, nothing can be loaded.
	Source func(thread *starlark.Thread, path string) ([]byte, error)
	// Loads proposes the files that load() can read. It may be nil.
	Loads func(Site) []Match
	// Bounds limits each cell; zero fields take the defaults.
	Bounds Bounds
}

// Shown is a value as people see it.
type Shown struct {
	Blocks []document.Block
	Text   string // the plain text, where Bundle has none
}

// Cell is one piece of source to run.
type Cell struct {
	Name   string // "cell 3" or the name of a file; it stands in every error
	Number int    // the execution count of its result
	Source string
	Quiet  bool // nobody watches: Config.Progress hears nothing of this cell, and _ stays what it was
	// Aside means that the source is one expression that is evaluated beside the cells: a cell that runs gives way to
	// it, and nothing of it is kept. It is Quiet.
	Aside bool
	// Attached is for words to find with AttachedOf.
	Attached any
}

// Session is a set of names and the cells that have run in it. Its methods may be called from any
// goroutine; cells run one at a time, and asides between the steps of a cell.
type Session struct {
	config   Config
	guard    guard
	globals  *globals
	builtins starlark.StringDict
	pristine starlark.StringDict // the names as they were before the first cell

	id    string       // of this session among all, for the names of displays
	works atomic.Int64 // pieces of work that somebody was told of

	results *results // Out

	running sync.Mutex // held while a cell runs
	turn    turn       // held while anything uses the names and values of the session

	mu      sync.Mutex          // over the fields below
	current *run                // whose turn it is
	cell    *run                // the cell that runs, whoever has the turn
	sources map[string][]string // lines of every cell that has run, by its name
}

// New returns a session without any names but the words and the built-in functions. It is an error for
// a word to have a name that no cell can spell.
func New(c Config) (*Session, error) {
	c.Bounds = c.Bounds.withDefaults()
	if c.Traceback == nil {
		c.Traceback = func(e *Error) []string { return e.Lines }
	}
	s := &Session{
		config:  c,
		globals: &globals{dict: starlark.StringDict{}},
		sources: map[string][]string{},
		id:      rand.Text(),
		turn:    newTurn(),
	}
	s.guard = guard{c.Bounds, s.ended}
	s.builtins = s.builtinFunctions()
	for name, v := range s.builtins {
		s.globals.dict[name] = v
	}
	s.results = newResults()
	s.globals.dict["Out"] = s.results
	for name, v := range c.Words {
		if v == nil || !spellable(name) {
			return nil, fmt.Errorf("session: the word %q is not a name a cell can use, or has no value", name)
		}
		s.globals.dict[name] = v
	}
	for name, v := range s.guard.hiddenFunctions() {
		s.globals.dict[name] = v
	}
	s.globals.dict[nameLoad] = s.loader()
	s.pristine = maps.Clone(s.globals.dict)
	s.globals.dict[nameGlobals] = s.globals
	return s, nil
}

func spellable(name string) bool {
	for i, r := range name {
		if !isNameRune(r) || i == 0 && unicode.IsDigit(r) {
			return false
		}
	}
	return name != ""
}

// Run runs one cell and hands its outputs to emit as they come: what it prints, what its words show, the
// value of its last expression when that is not None, and when it fails exactly one error. It returns
// that value, or nil when the cell does not end with an expression; the error is always an *Error. Emit
// is called from one goroutine at a time, and must not call Emit or Flush of the session. After
// a failure the session holds what was assigned before it, and is ready for the next cell.
//
// Run waits for a cell that is still running; an Aside waits until that gives way. When ctx ends, the cell fails with
// kind Interrupted at the interpreter's next step, or when the word that is running looks at ContextOf its thread.
func (s *Session) Run(ctx context.Context, cell Cell, emit func(notebook.Output)) (starlark.Value, error) {
	if emit == nil {
		emit = func(notebook.Output) {}
	}
	cell.Quiet = cell.Quiet || cell.Aside
	r := s.newRun(ctx, cell, &collector{emit: emit, bounds: s.config.Bounds})
	r.aside = cell.Aside
	if r.aside {
		if err := s.turn.takeAside(ctx); err != nil {
			return nil, s.conclude(r, &halt{kind: Interrupted, message: interruption(ctx)}, err)
		}
	} else {
		s.running.Lock()
		defer s.running.Unlock()
		s.turn.take()
	}
	defer s.turn.give()
	return s.runIn(r)
}

// runIn runs a cell that has the turn.
func (s *Session) runIn(r *run) (starlark.Value, error) {
	cell := r.cell
	src := clean(cell.Source)
	s.remember(cell.Name, src)
	v, err := s.evaluate(r, src)
	if err == nil && v != nil && v != starlark.None {
		if err = r.display(v); err == nil && !cell.Quiet {
			s.globals.set("_", v)
			if cell.Number > 0 {
				s.results.keep(cell.Number, v)
			}
		}
	}
	stopped := r.finish()
	s.setCurrent(nil)
	s.setCell(nil, r)
	if err == nil {
		r.out.close(nil)
		return v, nil
	}
	return nil, s.conclude(r, stopped, err)
}

// conclude emits the error of a cell that has failed, and returns it.
func (s *Session) conclude(r *run, stopped *halt, err error) error {
	fault := s.fault(r, stopped, err)
	r.out.close(&notebook.Output{Type: notebook.ErrorOutput, Error: &notebook.Error{
		Name: fault.Name(), Value: fault.Error(), Traceback: s.config.Traceback(fault),
	}})
	return fault
}

// evaluate compiles and runs the cell; a panic that no call caught becomes an error.
func (s *Session) evaluate(r *run, src string) (v starlark.Value, err error) {
	defer catch("this cell", &err)
	if r.aside {
		if err := oneExpression(r.cell.Name, src); err != nil {
			return nil, err
		}
		outer := s.globals.last // of the cell that gives way
		defer func() { s.globals.last = outer }()
	}
	prog, err := s.compileIn(r.ctx, r.cell.Name, src, s.globals)
	if err != nil {
		return nil, err
	}
	s.setCurrent(r)
	s.setCell(r, nil)
	s.globals.last = nil
	r.start()
	if _, err := prog.Init(r.thread, s.globals.dict); err != nil {
		return nil, err
	}
	v, s.globals.last = s.globals.last, nil
	return v, nil
}

// ErrIdle is the error of Emit and Flush when no cell is running.
var ErrIdle = errors.New("no cell is running")

// Emit hands an output of the running cell to its receiver, after what the cell has printed so far. A
// cell that emits too many outputs is stopped.
func (s *Session) Emit(o notebook.Output) error {
	s.mu.Lock()
	r := s.cell
	s.mu.Unlock()
	if r == nil {
		return ErrIdle
	}
	return r.send(o)
}

// Flush hands on what the running cell has printed so far. A front end that wants to show progress
// calls it now and then; how the text falls into outputs then depends on the time.
func (s *Session) Flush() error {
	s.mu.Lock()
	r := s.cell
	s.mu.Unlock()
	if r == nil {
		return ErrIdle
	}
	r.out.mu.Lock()
	defer r.out.mu.Unlock()
	r.out.flush()
	return nil
}

// ended returns why the run that has the turn is to end, nil while it is not.
func (s *Session) ended() error {
	s.mu.Lock()
	r := s.current
	s.mu.Unlock()
	if r == nil {
		return nil
	}
	return r.ended()
}

// ended returns why the run is to end, nil while it is not.
func (r *run) ended() error {
	if r.halted.Load() != nil {
		return context.Canceled
	}
	return r.ctx.Err()
}

func (s *Session) setCurrent(r *run) {
	s.mu.Lock()
	s.current = r
	s.mu.Unlock()
}

// setCell says which cell runs from now on; with nil, that before does not any more. An aside is none.
func (s *Session) setCell(now, before *run) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if now == nil && s.cell == before || now != nil && !now.aside {
		s.cell = now
	}
}
