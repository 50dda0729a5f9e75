package session

import (
	"errors"
	"fmt"
	"strings"
	"sync"

	"go.starlark.net/starlark"
)

// Names that the rewritten cell uses. Each holds a space: no cell can spell one.
const (
	nameGlobals = " globals" // the object whose fields are the names of the session
	nameLast    = " last"    // its field that takes the value of the last expression
	nameSeal    = " seal"    // the last name the resolver meets; see compile
	nameObject  = " object"  // a temporary: the operand of an augmented assignment
	nameKey     = " key"     // a temporary: its index
	slot        = " "        // appended to a def's name: the place the compiler keeps the function
)

func hidden(name string) bool { return strings.Contains(name, " ") }

// globals is the one dictionary that every cell and every function of the session reads, and the hidden
// object through which cells write to it. Reading inside the interpreter is not locked: it happens on
// the goroutine that writes. The lock is for Names and Lookup, which may come from elsewhere.
type globals struct {
	mu   sync.Mutex
	dict starlark.StringDict
	last starlark.Value // of the cell now running
}

func (g *globals) String() string        { return "globals" }
func (g *globals) Type() string          { return "globals" }
func (g *globals) Freeze()               {}
func (g *globals) Truth() starlark.Bool  { return true }
func (g *globals) Hash() (uint32, error) { return 0, errors.New("unhashable type: globals") }
func (g *globals) AttrNames() []string   { return nil }

// Attr serves x += y, which reads the name before it writes it.
func (g *globals) Attr(name string) (starlark.Value, error) {
	if v := g.dict[name]; v != nil {
		return v, nil
	}
	return nil, &nameError{name}
}

// SetField assigns a name.
func (g *globals) SetField(name string, v starlark.Value) error {
	if name == nameLast {
		g.last = v
		return nil
	}
	g.set(name, v)
	return nil
}

func (g *globals) set(name string, v starlark.Value) {
	g.mu.Lock()
	g.dict[name] = v
	g.mu.Unlock()
}

// nameError is the use of a name that has no value when it is needed.
type nameError struct{ name string }

func (e *nameError) Error() string {
	return fmt.Sprintf("%s has no value: its assignment has not run", e.name)
}

// Names returns the names that a cell can use now, sorted: built-in names, words, and what cells have
// assigned. It may be called while a cell runs.
func (s *Session) Names() []string {
	s.globals.mu.Lock()
	defer s.globals.mu.Unlock()
	keys := s.globals.dict.Keys()
	names := keys[:0]
	for _, k := range keys {
		if !hidden(k) {
			names = append(names, k)
		}
	}
	return names
}

// Lookup returns the value of a name, and whether it has one. It may be called while a cell runs.
func (s *Session) Lookup(name string) (starlark.Value, bool) {
	if hidden(name) {
		return nil, false
	}
	s.globals.mu.Lock()
	defer s.globals.mu.Unlock()
	v := s.globals.dict[name]
	return v, v != nil
}

// isWord reports whether v, the value of name, is a callable that came in with the words: one whose
// panics are worth a position of their own. Functions of the cells and built-in functions do not panic.
func (s *Session) isWord(v starlark.Value, name string) bool {
	if _, callable := v.(starlark.Callable); !callable || v == s.builtins[name] {
		return false
	}
	_, function := v.(*starlark.Function)
	return !function
}
