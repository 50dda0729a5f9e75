package session

import (
	"context"
	"strings"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"
)

// Call is a call of a word as it stands in a cell.
type Call struct {
	Word         string
	Line, Column int // of the word
	Positional   []Argument
	Named        map[string]Argument
}

// Argument is one argument of a Call.
type Argument struct {
	Source string // as written
	Text   string // the text, when it is one written out
	IsText bool
}

// Argument returns the argument that a parameter gets: the one of that name, or the one at its place.
func (c *Call) Argument(name string, place int) (Argument, bool) {
	if a, ok := c.Named[name]; ok {
		return a, true
	}
	if place < len(c.Positional) {
		return c.Positional[place], true
	}
	return Argument{}, false
}

// Check reads a cell as Run would, and runs nothing: the error, an *Error, is one that Run would end with before it
// begins. What the cell would assign counts as known to the cells that are checked after it. The calls of words that
// stand in the cell, in functions too, are returned in their order.
func (s *Session) Check(cell Cell) ([]Call, error) {
	s.running.Lock()
	defer s.running.Unlock()
	s.turn.take()
	defer s.turn.give()
	src := clean(cell.Source)
	s.remember(cell.Name, src)
	known, err := s.checked(cell.Name, src)
	if err != nil {
		return nil, s.fault(s.newRun(context.Background(), cell, &collector{bounds: s.config.Bounds}), nil, err)
	}
	calls := s.calls(src)
	for name := range known {
		if s.globals.dict[name] == nil {
			s.globals.set(name, starlark.None)
		}
	}
	return calls, nil
}

// checked compiles a cell and returns the names that it assigns.
func (s *Session) checked(name, src string) (assigned map[string]bool, err error) {
	defer catch("this cell", &err)
	_, r, err := s.compile(name, src, s.globals)
	if err != nil {
		return nil, err
	}
	return r.assigned, nil
}

// calls lists the calls of words in a cell that compiles.
func (s *Session) calls(src string) []Call {
	parsed, _ := powers(src + "\n")
	f, err := dialect.Parse("cell", parsed, 0)
	if err != nil {
		return nil
	}
	lines := strings.SplitAfter(src, "\n")
	var all []Call
	syntax.Walk(f, func(n syntax.Node) bool {
		e, ok := n.(*syntax.CallExpr)
		if !ok {
			return true
		}
		id, ok := e.Fn.(*syntax.Ident)
		if !ok || !s.isWord(s.globals.dict[id.Name], id.Name) {
			return true
		}
		c := Call{Word: id.Name, Line: int(id.NamePos.Line), Column: int(id.NamePos.Col), Named: map[string]Argument{}}
		for _, a := range e.Args {
			if b, ok := a.(*syntax.BinaryExpr); ok && b.Op == syntax.EQ {
				if name, ok := b.X.(*syntax.Ident); ok {
					c.Named[name.Name] = written(lines, b.Y)
				}
				continue
			}
			c.Positional = append(c.Positional, written(lines, a))
		}
		all = append(all, c)
		return true
	})
	return all
}

func written(lines []string, e syntax.Expr) Argument {
	start, end := e.Span()
	a := Argument{Source: between(lines, start, end)}
	if l, ok := e.(*syntax.Literal); ok {
		a.Text, a.IsText = l.Value.(string)
	}
	return a
}

// between cuts out the source from one position to another.
func between(lines []string, from, to syntax.Position) string {
	var b strings.Builder
	for n := from.Line; n <= to.Line && int(n) <= len(lines); n++ {
		line := []rune(lines[n-1])
		low, high := 0, len(line)
		if n == from.Line {
			low = min(int(from.Col)-1, len(line))
		}
		if n == to.Line {
			high = min(int(to.Col)-1, len(line))
		}
		if low < high {
			b.WriteString(string(line[low:high]))
		}
	}
	return b.String()
}
