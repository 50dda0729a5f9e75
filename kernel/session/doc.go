// Package session runs the cells of a notebook, one after another, in one set of names.
//
// The language is Starlark with what an engineer at a notebook expects on top: a name assigned in one
// cell is there in the next, and a function sees the current value of every such name; x ** y; '%.3f' % x;
// the value of a cell's last expression is shown; comparing a quantity with a plain number is an error.
// All of it is one pass over the syntax tree (rewrite.go) and a handful of hidden functions that the
// rewritten cell calls (operate.go, compare.go, attribute.go). Hidden names hold a space, so that no cell
// can spell them, and none of them reaches a message, a name or a printed value.
//
// A cell is bounded: steps, nesting of calls, printed bytes, the size of one text, list or whole number,
// and the growth of the heap (bounds.go). A cell that fails, is interrupted, or runs into a bound ends
// with an *Error that says where; the session stays usable, and keeps what was assigned before the failure.
//
// Lines and columns count from 1, columns in code points. The position of an operator's error is the
// operator, that of a failing call the name of what was called.
//
// The package knows no optics and no sockets. Words come in as a dictionary; what they need of their
// surroundings rides on the Starlark thread. The wire and the headless rerun drive a session alike.
//
// Whatever looks at a whole value (to hash, compare, order, write or show it) goes through a Look (look.go), which
// counts parts and bytes and ends with the cell; the interpreter's library, which does not, is handed collections
// behind an iterator that does (collections.go), and texts in pieces (pieces.go).
//
// What it does not do: a panic on a goroutine that a word started, and memory taken in one piece by a word, are
// beyond it. Limits of the operating system are the last line for those.
package session
