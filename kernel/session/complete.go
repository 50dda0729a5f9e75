package session

import (
	"strings"

	"go.starlark.net/syntax"
)

// Completeness tells whether a piece of source is ready to run.
type Completeness string

// What IsComplete answers, in the terms of the notebook's protocol.
const (
	Complete   Completeness = "complete"
	Incomplete Completeness = "incomplete"
	Invalid    Completeness = "invalid"
)

// IsComplete reports whether source can run as it stands, needs more lines, or is wrong whatever
// follows. For an incomplete one it proposes the indentation of the next line. A block typed over
// several lines is complete once an empty line ends it.
func IsComplete(source string) (Completeness, string) {
	src := clean(source)
	if strings.TrimSpace(src) == "" {
		return Complete, ""
	}
	if len(src) > sourceSize {
		return Invalid, ""
	}
	tokens := scan(src)
	if joined(src, tokens) {
		return Incomplete, indentation(src, tokens)
	}
	parsed, _ := powers(strings.TrimRight(src, " \t\n") + "\n")
	f, err := dialect.Parse("cell", parsed, 0)
	if err == nil {
		if open(f, src) {
			return Incomplete, indentation(src, tokens)
		}
		return Complete, ""
	}
	// The scanner names the end of the input in exactly the errors that more input could mend; within
	// a block it is the end of the block, there. A string on one line ends at its line, a longer one
	// does not.
	if e, ok := err.(syntax.Error); ok {
		atEnd := int(e.Pos.Line) > strings.Count(parsed, "\n")
		if strings.Contains(e.Msg, "end of file") || strings.Contains(e.Msg, "unexpected EOF in string") ||
			atEnd && strings.Contains(e.Msg, "got outdent") {
			return Incomplete, indentation(src, tokens)
		}
	}
	return Invalid, ""
}

// open reports whether the source ends inside a block that could go on.
func open(f *syntax.File, src string) bool {
	if len(f.Stmts) == 0 {
		return false
	}
	switch f.Stmts[len(f.Stmts)-1].(type) {
	case *syntax.DefStmt, *syntax.IfStmt, *syntax.ForStmt, *syntax.WhileStmt:
	default:
		return false
	}
	lines := strings.Split(src, "\n")
	last := lines[len(lines)-1]
	if blank := strings.TrimSpace(last) == "" && len(lines) > 1; blank && (last != "" ||
		strings.TrimSpace(lines[len(lines)-2]) == "") {
		return false // an empty line, or one that an editor has indented and nobody has written into
	}
	body := strings.TrimRight(src, " \t\n")
	body = body[strings.LastIndex(body, "\n")+1:]
	return strings.HasPrefix(body, " ") || strings.HasPrefix(body, "\t")
}

// joined reports whether the source ends with a backslash that takes in the next line.
func joined(src string, tokens []token) bool {
	src = strings.TrimRight(src, "\n")
	for len(tokens) > 0 && tokens[len(tokens)-1].kind == newlineToken {
		tokens = tokens[:len(tokens)-1]
	}
	if n := len(tokens); n > 0 && tokens[n-1].offset+len(tokens[n-1].text) == len(src) {
		return false // it belongs to a comment or a string
	}
	return strings.HasSuffix(src, "\\")
}

// indentation is that of the last line, and four more after a colon.
func indentation(src string, tokens []token) string {
	src = strings.TrimRight(src, " \t\n")
	line := src[strings.LastIndex(src, "\n")+1:]
	indent := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
	for i := len(tokens) - 1; i >= 0; i-- {
		if k := tokens[i].kind; k != newlineToken && k != commentToken {
			if tokens[i].is(":") && tokens[i].offset >= len(src)-len(line) {
				indent += "    "
			}
			break
		}
	}
	return indent
}
