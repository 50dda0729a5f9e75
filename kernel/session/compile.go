package session

import (
	"context"
	"fmt"
	"maps"
	"strings"

	"go.starlark.net/resolve"
	"go.starlark.net/starlark"
	"go.starlark.net/syntax"
)

// dialect is Starlark with what a notebook needs: loops and reassignment outside functions, while,
// recursion, sets.
var dialect = &syntax.FileOptions{Set: true, While: true, TopLevelControl: true, GlobalReassign: true, Recursion: true}

// clean returns a cell's source as the scanner should see it: valid UTF-8, no byte order mark, line feeds
// only, so that lines and columns mean the same here and there.
func clean(src string) string {
	src = strings.TrimPrefix(src, "\ufeff")
	src = strings.ToValidUTF8(src, "\ufffd")
	src = strings.ReplaceAll(src, "\r\n", "\n")
	return strings.ReplaceAll(src, "\r", "\n")
}

// sourceSize bounds a cell: the parser's trees are a hundred times larger than their source.
const sourceSize = 1 << 20

// longSource is the length from which compiling takes so long that it must be possible to interrupt it.
const longSource = 16 << 10

func sizeOf(src string) error {
	if len(src) > sourceSize {
		return overLimit("source of %d bytes is over the limit of %d", len(src), sourceSize)
	}
	return nil
}

// mostDigits bounds a number that is written out: reading it takes time with the square of its length.
const mostDigits = 20_000

func digits(name, src string) error {
	if len(src) <= mostDigits {
		return nil
	}
	for _, t := range scan(src) {
		if t.kind == numberToken && len(t.text) > mostDigits {
			pos := syntax.MakePosition(&name, t.at.line, t.at.col)
			return syntax.Error{Pos: pos, Msg: fmt.Sprintf("a number of %d digits is over the limit of %d", len(t.text),
				mostDigits)}
		}
	}
	return nil
}

// compileIn is compile, which ends with the context. Of a long source it then compiles a copy of the names on, since an
// interrupted compilation is left to itself and the next cell may assign names in the meantime.
func (s *Session) compileIn(ctx context.Context, name, src string, g *globals) (*starlark.Program, error) {
	if len(src) < longSource {
		p, _, err := s.compile(name, src, g)
		return p, err
	}
	still := &globals{dict: maps.Clone(g.dict)}
	return Await(ctx, func() (*starlark.Program, error) {
		p, _, err := s.compile(name, src, still)
		return p, err
	})
}

// compile turns a cell, cleaned, into a program to be run over a dictionary: the session's, but for an
// expression that Evaluate is given. The rewriter knows what the cell assigns.
func (s *Session) compile(name, src string, g *globals) (*starlark.Program, *rewriter, error) {
	if err := sizeOf(src); err != nil {
		return nil, nil, err
	}
	if err := digits(name, src); err != nil {
		return nil, nil, err
	}
	src, pow := powers(src + "\n") // so that a string without an end is one that its line cuts off
	f, err := dialect.Parse(name, src, 0)
	if err != nil {
		return nil, nil, err
	}
	r := &rewriter{word: func(name string) bool { return s.isWord(g.dict[name], name) }, powers: pow,
		assigned: map[string]bool{}}
	f.Stmts = r.cell(f.Stmts)
	if r.err != nil {
		return nil, nil, r.err
	}
	// Every name of the session counts as predeclared, which the interpreter looks up in the dictionary
	// each time it is read. The resolver asks about the seal last, in the last statement: by then it has
	// met every def and not yet compiled one, and the slots can come off the names of the functions, so
	// that no traceback and no printed function shows one.
	p, err := starlark.FileProgram(f, func(name string) bool {
		if name == nameSeal {
			for _, d := range r.defs {
				if fn, ok := d.Function.(*resolve.Function); ok {
					fn.Name = strings.TrimSuffix(fn.Name, slot)
				}
			}
		}
		return r.assigned[name] || g.dict[name] != nil
	})
	return p, r, err
}
