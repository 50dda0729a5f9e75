package session

import (
	"context"

	"go.starlark.net/starlark"
)

// Look is one walk over whole values, whatever it is for: to hash them, compare, order, write or show them. It
// counts every part it meets, one that is held twice twice, and the bytes of texts. It ends with an error when there
// are too many of them, when values are nested too deep, or when the cell that walks is over.
//
// Everything that looks at more of a value than its outermost part goes through one.
type Look struct {
	parts, bytes, depth int // that are left
	most                [3]int
	since               int          // what was walked since the last look at the cell
	ended               func() error // why the cell is to end, nil while it is not; may itself be nil
}

// Bounds on a walk that are not a session's to set. What the interpreter's own library walks cannot be interrupted:
// keyParts and keyBytes of a key are hashed, and written in an error, within a few milliseconds. Deeper than lookDepth
// nobody writes.
const (
	lookParts = 1 << 26
	lookBytes = 1 << 32
	lookDepth = 1000
	keyParts  = 1 << 16
	keyBytes  = 1 << 20
)

// lookEvery is the parts and bytes between two looks at the cell: a fraction of a millisecond.
const lookEvery = 1 << 16

func newLook(parts, bytes, depth int, ended func() error) *Look {
	return &Look{parts: parts, bytes: bytes, depth: depth, most: [3]int{parts, bytes, depth}, ended: ended}
}

// look begins a walk of a cell.
func (g guard) look() *Look { return newLook(lookParts, lookBytes, lookDepth, g.ended) }

// LookOf begins a walk of the cell that thread runs.
func LookOf(thread *starlark.Thread) *Look {
	if r, ok := thread.Local(runKey).(*run); ok {
		return newLook(lookParts, lookBytes, lookDepth, r.ended)
	}
	return newLook(lookParts, lookBytes, lookDepth, nil)
}

// NewLook begins a walk with bounds of its own, which ends with the context.
func NewLook(ctx context.Context, parts, bytes, depth int) *Look {
	return newLook(parts, bytes, depth, ctx.Err)
}

// Part counts one part of so many bytes.
func (l *Look) Part(bytes int) error {
	l.parts--
	l.bytes -= bytes
	if l.parts < 0 {
		return overLimit("looking at more than %d parts of a value is over the limit; a part held twice counts twice",
			l.most[0])
	}
	if l.bytes < 0 {
		return overLimit("looking at more than %d bytes of a value is over the limit", l.most[1])
	}
	return l.cost(16 + bytes)
}

// cost counts work and now and then looks whether the cell is over.
func (l *Look) cost(n int) error {
	if l.since += n; l.since < lookEvery || l.ended == nil {
		return nil
	}
	l.since = 0
	return l.ended()
}

// In goes one level down. Out comes back.
func (l *Look) In() error {
	if l.depth--; l.depth < 0 {
		return overLimit("values nested more than %d deep are over the limit", l.most[2])
	}
	return nil
}

// Out comes back from one level down.
func (l *Look) Out() { l.depth++ }

// nested walks inside a value that holds others.
func (l *Look) nested(inside func() error) error {
	if err := l.In(); err != nil {
		return err
	}
	defer l.Out()
	return inside()
}

// hashed walks v as the interpreter does to hash it.
func (l *Look) hashed(v starlark.Value) error {
	switch v := v.(type) {
	case starlark.Tuple:
		return l.nested(func() error {
			for _, e := range v {
				if err := l.hashed(e); err != nil {
					return err
				}
			}
			return l.Part(0)
		})
	case starlark.String:
		return l.Part(len(v))
	case starlark.Bytes:
		return l.Part(len(v))
	}
	return l.Part(0)
}

// Whole walks all of v: the elements of a collection, the keys and values of a dict.
func (l *Look) Whole(v starlark.Value) error {
	switch v := v.(type) {
	case starlark.String:
		return l.Part(len(v))
	case starlark.Bytes:
		return l.Part(len(v))
	case starlark.Int:
		return l.Part(bitLen(v) / 3) // its digits
	case *starlark.Dict:
		return l.nested(func() error {
			for k, e := range v.Entries() {
				if err := l.Whole(k); err != nil {
					return err
				}
				if err := l.Whole(e); err != nil {
					return err
				}
			}
			return l.Part(0)
		})
	case starlark.Iterable:
		return l.nested(func() error {
			for e := range starlark.Elements(v) {
				if err := l.Whole(e); err != nil {
					return err
				}
			}
			return l.Part(0)
		})
	}
	return l.Part(0)
}

// lookup counts a key that is about to be looked up or entered. The keys of a table may share one hash, and then all of
// them are looked through: the cell is asked after every few.
func (l *Look) lookup(key starlark.Value) error {
	if err := l.hashed(key); err != nil {
		return err
	}
	return l.cost(lookEvery / 8)
}

// key reports why v cannot be the key of a dict or an element of a set: hashing it would go too far. What it is
// worth to a session is not asked here: a list has its own error.
func (g guard) key(v starlark.Value) error {
	switch v.(type) {
	case starlark.Tuple, starlark.String, starlark.Bytes:
		return newLook(keyParts, keyBytes, lookDepth, g.ended).hashed(v)
	}
	return nil
}

// watched is a collection that hands its elements out through a Look. The interpreter's library takes in whole
// collections in loops that know of no end but that of their elements: this is one.
type watched struct {
	starlark.Iterable
	w *intake
}

// sized is one whose length is known.
type sized struct{ watched }

func (s sized) Len() int { return starlark.Len(s.Iterable) }

// Iterate returns the elements, as long as the cell goes on.
func (v watched) Iterate() starlark.Iterator { return &watching{v.Iterable.Iterate(), v.w} }

// intake is one call of the library over collections.
type intake struct {
	guard  guard
	look   *Look
	hashes bool // the elements are hashed
	pairs  bool // the first of each element is
	most   int  // elements that may still be taken in, of limit
	limit  int
	err    error // why the elements ended before the end
}

func (g guard) intake(hashes bool, most int) *intake {
	return &intake{guard: g, look: g.look(), hashes: hashes, most: most, limit: most}
}

// mostAtOnce is the most elements for which the library makes room before it asks for them.
const mostAtOnce = 1 << 16

// over returns what is handed to the library in place of v.
func (w *intake) over(v starlark.Value) starlark.Value {
	it, ok := v.(starlark.Iterable)
	n := starlark.Len(v)
	switch {
	case !ok:
		return v
	case 0 <= n && n <= mostAtOnce:
		return sized{watched{it, w}}
	}
	return watched{it, w}
}

type watching struct {
	starlark.Iterator
	w *intake
}

func (i *watching) Next(p *starlark.Value) bool {
	w := i.w
	if w.err != nil || !i.Iterator.Next(p) {
		return false
	}
	w.err = w.take(*p)
	return w.err == nil
}

// take looks at an element.
func (w *intake) take(v starlark.Value) error {
	if w.most--; w.most < 0 {
		return overLimit("more elements than the limit of %d", w.limit)
	}
	if pair, ok := v.(starlark.Indexable); ok && w.pairs && pair.Len() == 2 {
		return w.guard.hashing(w.look, pair.Index(0))
	}
	if w.hashes {
		return w.guard.hashing(w.look, v)
	}
	return w.look.Part(0)
}

// hashing counts a key that is about to be hashed.
func (g guard) hashing(l *Look, v starlark.Value) error {
	if err := g.key(v); err != nil {
		return err
	}
	return l.lookup(v)
}
