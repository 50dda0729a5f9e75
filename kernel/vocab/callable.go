package vocab

import (
	"fmt"
	"hash/fnv"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
)

// callable is a word or a method as a cell holds it. Starlark's own Builtin has no room for
// documentation, which is why this type exists.
type callable struct {
	word *Word
	call func(*starlark.Thread, Args) (starlark.Value, error)
}

var _ starlark.Callable = (*callable)(nil)

func (c *callable) Name() string          { return c.word.Name }
func (c *callable) String() string        { return "<word " + c.word.title() + ">" }
func (c *callable) Type() string          { return "word" }
func (c *callable) Freeze()               {}
func (c *callable) Truth() starlark.Bool  { return true }
func (c *callable) Hash() (uint32, error) { return hash(c.word.title()), nil }

// Doc returns the help text; a front end's inspection shows it.
func (c *callable) Doc() string { return c.word.Help() }

// CallInternal checks the arguments and runs the word. Panics are the session's to catch.
func (c *callable) CallInternal(thread *starlark.Thread, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value,
	error) {
	a, err := unpack(c.word, args, kwargs)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", c.word.Name, err)
	}
	a.ctx = session.ContextOf(thread)
	v, err := c.call(thread, a)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", c.word.Name, err)
	}
	return v, nil
}

// Describe returns what a front end's inspection shows.
func (c *callable) Describe(detail int) []document.Block { return c.word.Describe(detail) }

// Signature tells completion what the word takes and gives.
func (c *callable) Signature() session.Signature {
	sig := c.word.signature()
	sig.Gives = givesDirection(c.word)
	return sig
}

// Summary is one line about the word.
func (c *callable) Summary() string { return c.word.Summary }

// hash is a string's hash as Starlark wants it.
func hash(s string) uint32 {
	h := fnv.New32a()
	h.Write([]byte(s)) // never fails
	return h.Sum32()
}

// methods lists every method of every value, for help and for the test that walks them.
var methods []*Word

// methodSet holds the methods of one type of value.
type methodSet[T starlark.Value] struct {
	words map[string]*Word
	calls map[string]func(T, *starlark.Thread, Args) (starlark.Value, error)
}

// method is one method: its documentation and what it does with its receiver.
type method[T starlark.Value] struct {
	Word
	call func(T, *starlark.Thread, Args) (starlark.Value, error)
}

// newMethods makes the set for the values whose Starlark type is owner; like Register it panics on a
// slip in the program's source.
func newMethods[T starlark.Value](owner string, list ...method[T]) methodSet[T] {
	s := methodSet[T]{map[string]*Word{}, map[string]func(T, *starlark.Thread, Args) (starlark.Value, error){}}
	for _, m := range list {
		w := m.Word
		w.owner = owner
		w.Call = func(*starlark.Thread, Args) (starlark.Value, error) {
			return nil, fmt.Errorf("%s is a method: call it on a %s", w.Name, owner)
		}
		if err := w.check(); err != nil {
			panic("vocab: " + owner + ": " + err.Error())
		}
		if s.words[w.Name] != nil {
			panic("vocab: the method " + w.title() + " is defined twice")
		}
		s.words[w.Name], s.calls[w.Name] = &w, m.call
		methods = append(methods, &w)
	}
	return s
}

// bind returns the named method bound to its receiver, or nil.
func (s methodSet[T]) bind(receiver T, name string) starlark.Value {
	w, call := s.words[name], s.calls[name]
	if w == nil {
		return nil
	}
	return &callable{word: w, call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		return call(receiver, t,
			a)
	}}
}

// names lists the methods, sorted, with the given fields.
func (s methodSet[T]) names(fields ...string) []string {
	for name := range s.words {
		fields = append(fields, name)
	}
	slices.Sort(fields)
	return fields
}
