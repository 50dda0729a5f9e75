package session

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"go.starlark.net/resolve"
	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"wedgework/reports/nearest"
)

// Kinds of Error.
const (
	SyntaxError   = "SyntaxError"   // the cell cannot be read
	NameError     = "NameError"     // a name that nothing defines, or that has no value yet
	CellError     = "Error"         // an operation or a word failed
	LimitError    = "LimitError"    // the cell ran into a bound
	Interrupted   = "Interrupted"   // the context ended
	InternalError = "InternalError" // the program itself is at fault
)

// Error is why and where a cell failed.
type Error struct {
	Kind    string
	Message string
	Cell    string   // the cell or file where it failed: an earlier one, when a function of it did
	Line    int      // from 1; 0 when the place is not known
	Column  int      // from 1, in code points
	Hint    string   // advice apart from the message, or ""
	Lines   []string // a traceback for people: each call with its source line and a caret, then the message
	Stack   []byte   // the Go stack of an InternalError, for who repairs it

	cause error
	text  []string // of a text given to Evaluate: the places in it, as in Lines
}

// Error returns "cell 3:2:5: message".
func (e *Error) Error() string {
	if e.Line == 0 {
		return e.Cell + ": " + e.Message
	}
	return fmt.Sprintf("%s:%d:%d: %s", e.Cell, e.Line, e.Column, e.Message)
}

// Unwrap returns what the word or the interpreter returned.
func (e *Error) Unwrap() error { return e.cause }

// Hinter is an error of a word that has advice beside its message.
type Hinter interface {
	error
	Hint() string
}

// fault makes an Error of whatever ended the cell.
func (s *Session) fault(r *run, stopped *halt, err error) *Error {
	e := &Error{Kind: CellError, Message: err.Error(), Cell: r.cell.Name, cause: err}
	if !s.static(e, err) {
		s.dynamic(e, r, stopped, err, func(starlark.CallFrame) bool { return true })
	}
	return finished(e)
}

// mostMessage is how many bytes of a message are shown: a value of the cell may stand in it.
const mostMessage = 4000

func finished(e *Error) *Error {
	e.Message, e.Hint = cut(e.Message, mostMessage), cut(e.Hint, mostMessage)
	e.Lines = append(e.Lines, e.Name()+": "+e.Message)
	if e.Hint != "" {
		e.Lines = append(e.Lines, "hint: "+e.Hint)
	}
	return e
}

func (s *Session) place(e *Error, pos syntax.Position) {
	e.Cell, e.Line, e.Column = pos.Filename(), int(pos.Line), int(pos.Col)
}

// pullBack moves a place behind the end of a cell to the end of its last line that holds anything.
func (s *Session) pullBack(e *Error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	lines := s.sources[e.Cell]
	for i := min(e.Line, len(lines)); i > 0; i-- {
		text := strings.TrimRight(lines[i-1], " \t")
		if i == e.Line && text != "" {
			return
		}
		if text != "" {
			e.Line, e.Column = i, utf8.RuneCountInString(text)+1
			return
		}
	}
}

// static fills in what the parser or the resolver found before anything ran, and reports whether err is
// such a finding, as compile returns it; a word may wrap one of something else that it has read.
func (s *Session) static(e *Error, err error) bool {
	switch found := err.(type) {
	case syntax.Error:
		e.Kind = SyntaxError
		e.Message, e.Hint = s.wordSyntax(found)
		s.place(e, found.Pos)
		s.offender(e, found.Msg)
		s.pullBack(e)
		if e.Hint == "" {
			e.Hint = s.habitual(s.line(e.Cell, e.Line))
		}
		if word := s.misspelt(s.line(e.Cell, e.Line)); word != "" && e.Hint == "" {
			e.Message += meant("", word)
		}
		e.Lines = s.context(e.Cell, e.Line, e.Column, "")
	case resolve.ErrorList:
		s.undefined(e, found)
	default:
		return false
	}
	return true
}

// undefined fills in what the resolver found: the first finding is the error, the others follow in the
// traceback.
func (s *Session) undefined(e *Error, list resolve.ErrorList) {
	const most = 10
	for i, finding := range list {
		kind, message, hint := s.wordStatic(finding.Msg)
		if i == 0 {
			e.Kind, e.Message, e.Hint = kind, message, hint
			s.place(e, finding.Pos)
			e.Lines = s.context(e.Cell, e.Line, e.Column, "")
			continue
		}
		if i == most {
			e.Lines = append(e.Lines, fmt.Sprintf("and %d more", len(list)-most))
			break
		}
		e.Lines = append(e.Lines, s.context(finding.Pos.Filename(), int(finding.Pos.Line), int(finding.Pos.Col),
			message)...)
	}
}

var undefined = matching(`^undefined: (\S+)(?: \(did you mean ([^)]*)\?\))?$`)

// wordStatic words a finding of the resolver. Its own proposals come from the names of one cell only, and
// may be hidden ones.
func (s *Session) wordStatic(message string) (kind, worded, hint string) {
	m := undefined().FindStringSubmatch(message)
	if m == nil && strings.HasPrefix(message, "positional argument may not follow *args") {
		return SyntaxError, "in a call, write the values before *list, or put them into the list", ""
	}
	if m == nil {
		return SyntaxError, strings.Replace(message, "this Starlark dialect does not ", "a cell does not ", 1), ""
	}
	if meaning, hint := s.instead(m[1]); meaning+hint != "" {
		return NameError, "undefined: " + m[1] + meaning, hint
	}
	names := s.Names()
	if local := strings.TrimSuffix(m[2], slot); local != "" && !hidden(local) {
		names = append([]string{local}, names...)
	}
	return NameError, "undefined: " + m[1] + meant("", nearest.To(m[1], names)), ""
}

// dynamic fills in what went wrong while the cell ran; of the calls that led to it those count that are in.
func (s *Session) dynamic(e *Error, r *run, stopped *halt, err error, in func(starlark.CallFrame) bool) {
	frames := s.frames(err, in)
	var outer *starlark.EvalError
	if errors.As(err, &outer) {
		e.Message = outer.Msg
	}
	e.Message = cut(e.Message, mostMessage) // before anything is sought in it
	var limit *limitError
	var name *nameError
	var panicked *panicError
	var hint Hinter
	var inner *Error // of a text that a word has had evaluated
	switch {
	case stopped != nil:
		e.Kind, e.Message = stopped.kind, stopped.message
	case errors.As(err, &inner) && inner.text != nil:
		e.Hint, e.Stack = inner.Hint, inner.Stack
		if inner.Kind == LimitError || inner.Kind == InternalError {
			e.Kind = inner.Kind
		}
	case errors.As(err, &panicked):
		e.Kind, e.Stack = InternalError, panicked.stack
		e.Hint = "this is a fault of the program and not of the cell"
	case r.ctx.Err() != nil && (errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded)):
		e.Kind, e.Message = Interrupted, interruption(r.ctx)
	case errors.As(err, &limit):
		e.Kind = LimitError
	case errors.As(err, &name):
		e.Kind = NameError
		e.Message += meant("", nearest.To(name.name, s.Names()))
	case errors.As(err, &hint):
		e.Hint = hint.Hint()
	default:
		e.Kind, e.Message = s.wordDynamic(e.Message)
	}
	if n := len(frames); n > 1 && argumentError(outer, frames[n-1]) {
		frames = frames[:n-1] // the call is at fault, and not the function it did not enter
	}
	if n := len(frames); n > 0 {
		s.place(e, frames[n-1].Pos)
	}
	e.Lines = s.traceback(frames)
	if inner != nil {
		e.Lines = append(e.Lines, inner.text...)
	}
}

// frames returns the calls in cells that led to the error, outermost first, those that are in. A word that calls
// back into a cell may have wrapped the error; the deepest one knows most. What happened in a text that a word has
// had evaluated is told apart.
func (s *Session) frames(err error, in func(starlark.CallFrame) bool) []starlark.CallFrame {
	var deepest *starlark.EvalError
	for next := err; next != nil; next = errors.Unwrap(next) {
		if e, ok := next.(*Error); ok && e.text != nil {
			break
		}
		if e, ok := next.(*starlark.EvalError); ok && (deepest == nil || len(e.CallStack) > len(deepest.CallStack)) {
			deepest = e
		}
	}
	if deepest == nil {
		return nil
	}
	var frames []starlark.CallFrame
	for _, f := range deepest.CallStack {
		if _, ok := s.sources[f.Pos.Filename()]; ok && f.Pos.Line > 0 && in(f) {
			frames = append(frames, f)
		}
	}
	return frames
}

func argumentError(e *starlark.EvalError, callee starlark.CallFrame) bool {
	if e == nil {
		return false
	}
	rest, ok := strings.CutPrefix(e.Msg, "function "+callee.Name+" ")
	return ok && (strings.HasPrefix(rest, "accepts ") || strings.HasPrefix(rest, "missing ") || strings.HasPrefix(rest,
		"got "))
}
