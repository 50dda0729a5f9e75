package notebook

import "wedgework/reports/document"

// Output is one output of a code cell, in the four kinds nbformat 4 knows, or one of the two messages that
// change what was shown before. The session emits it, the wire carries it as it is; a notebook holds what
// is left of all of them, see Recorder.
type Output struct {
	Type OutputType
	// DisplayID names a display or a result, so that an update can replace it; it is the message's
	// transient display_id and no part of a notebook file.
	DisplayID string
	Wait      bool           // of a ClearOutput: clear only when the next output comes
	Stream    string         // "stdout" or "stderr", for a stream
	Text      string         // the text of a stream
	Data      map[string]any // MIME type to content, for a display or a result: string, or JSON for +json types
	Meta      map[string]any
	Count     int // execution count, for a result
	Error     *Error

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

// What a cell emits to change what it or an earlier cell has shown; the names are those of the messages.
const (
	UpdateOutput OutputType = "update_display_data" // new data for every display with the same DisplayID
	ClearOutput  OutputType = "clear_output"        // takes away what the cell has shown so far
)

// Error is what a failing cell reports.
type Error struct {
	Name      string   // the kind: "SyntaxError", "NameError", "Error"
	Value     string   // the message, with its position
	Traceback []string // lines as a person reads them, the caret line included
}
