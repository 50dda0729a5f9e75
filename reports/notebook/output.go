package notebook

import "wedgework/reports/document"

// Output is one output of a code cell, in the four kinds nbformat 4 knows. The session emits it, the
// wire and the executed notebook carry the same value.
type Output struct {
	Type   OutputType
	Stream string         // "stdout" or "stderr", for a stream
	Text   string         // the text of a stream
	Data   map[string]any // MIME type to content, for a display or a result: string, or JSON for +json types
	Meta   map[string]any
	Count  int // execution count, for a result
	Error  *Error

	// Extra holds fields that nbformat does not define, so that reading and writing loses nothing.
	Extra map[string]any

	// Blocks is what the data was made from. It never reaches a file or a socket: a report rendered in
	// the same process takes the blocks and sets them as vectors, where a front end shows Data.
	Blocks []document.Block
}

// OutputType is the output_type of nbformat.
type OutputType string

// The output types of nbformat 4.
const (
	StreamOutput  OutputType = "stream"
	DisplayOutput OutputType = "display_data"
	ResultOutput  OutputType = "execute_result"
	ErrorOutput   OutputType = "error"
)

// Error is what a failing cell reports.
type Error struct {
	Name      string   // the kind: "SyntaxError", "NameError", "Error"
	Value     string   // the message, with its position
	Traceback []string // lines as a person reads them, the caret line included
}
