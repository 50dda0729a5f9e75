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
	if strings.HasSuffix(strings.TrimRight(src, "\n"), "\\") {
		return Incomplete, indentation(src)
	}
	parsed, _ := powers(strings.TrimRight(src, " \t\n") + "\n")
	f, err := dialect.Parse("cell", parsed, 0)
	if err == nil {
		if open(f, src) {
			return Incomplete, indentation(src)
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
			return Incomplete, indentation(src)
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
	if strings.TrimSpace(last) == "" && len(lines) > 1 && strings.TrimSpace(lines[len(lines)-2]) == "" {
		return false // an empty line
	}
	body := strings.TrimRight(src, " \t\n")
	body = body[strings.LastIndex(body, "\n")+1:]
	return strings.HasPrefix(body, " ") || strings.HasPrefix(body, "\t")
}

// indentation is that of the last line, and four more after a colon.
func indentation(src string) string {
	src = strings.TrimRight(src, " \t\n")
	line := src[strings.LastIndex(src, "\n")+1:]
	indent := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
	code, _, _ := strings.Cut(line, "#")
	if strings.HasSuffix(strings.TrimRight(code, " \t"), ":") {
		indent += "    "
	}
	return indent
}
