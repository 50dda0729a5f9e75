package rerun

import (
	"context"

	"wedgework/optics/stack"
	"wedgework/reports/measured"
	"wedgework/reports/notebook"
	"wedgework/reports/qualify"
	"wedgework/reports/record"
	"wedgework/reports/review"
	"wedgework/reports/verify"
)

// Request says what is to be run on what.
type Request struct {
	Name     string // base name of the notebook, for messages
	Notebook *notebook.Notebook

	// Data binds named inputs to files. A name with several files makes a lot.
	Data map[string][]measured.File

	// Settings binds the settings of given() to expressions, not yet evaluated: the language is the
	// session's business.
	Settings map[string]string

	// ReadFile reads the default file of an input, by the path the notebook wrote. What may be read is
	// its decision. Nil means that no default can be read.
	ReadFile func(ctx context.Context, path string) (measured.File, error)

	// Save writes a file that a cell has made. Nil: it is dropped, and the run goes on as it would.
	Save func(name string, data []byte) error

	// Remedy says how a person binds an input that is not bound, as "add --data sweep=FILE"; nil for nobody
	// who could.
	Remedy func(input string) string
}

// Cell is one code cell as a session gets it. Number counts all cells of the notebook from 1, as a
// person counts them; Index counts the code cells that are run, which is their execution count.
type Cell struct {
	Number int
	Index  int
	Source string
}

// Session runs cells one after the other; names live on from cell to cell.
type Session interface {
	// Run runs one cell. It emits every output, in order, before it returns, an error output included. Of an output
	// that has Blocks the run makes the data; the session need not.
	// A cell that fails returns an error, a *CellError where it knows the position.
	Run(ctx context.Context, cell Cell, emit func(notebook.Output)) error
}

// Opener makes the session of a run. The words of that session find the desk and nothing else of the
// outside world.
type Opener func(desk *Desk) (Session, error)

// Outcome is what a run that reached its end leaves.
type Outcome struct {
	Notebook *notebook.Notebook // a copy with outputs (their Blocks included) and execution counts
	Header   record.Header      // what report() said; the zero Header when it was not called
	Reported bool               // whether report() was called
	Paper    string             // that report() asked for: "a4" or "letter"; "" leaves it open
	Verified []Verification     // in order
	Reviewed []*review.Result   // designs, in order

	Qualified []qualify.Qualification // in order
	Inputs    []Input                 // in the order the notebook asked for them
	Settings  []record.Setting        // in the order the notebook asked for them
	// of the program's own that the cells asked for: name of the material and its data file
	Constants []measured.File
	Warnings  []string // in order, each once
	Unsaved   []string // files that cells made and nobody wrote, in order, each once
	Retest    string   // rule by which units count that were measured more than once; "" is the usual one

	// Unread holds why a picture that a Markdown cell shows could not be read, by its address. One that was
	// read is an input, under its address.
	Unread map[string]error
}

// Verification is what verify() found.
type Verification struct {
	Model  *stack.Stack // as specified; nil when the session's words do not hand it over
	Result *verify.Result
}

// Input is a named input as it was used.
type Input struct {
	Name  string
	Files []measured.File
	Bound bool // true when the request bound it, false when the notebook's default was read

	// Tables are what the session's words read from the files, as they told Took; nil when they told nothing.
	Tables []*measured.Table
}

// Read returns what was read from the files; without word from the session, what the files hold as they are.
func (in Input) Read() []*measured.Table {
	if in.Tables != nil {
		return in.Tables
	}
	var all []*measured.Table
	for _, f := range in.Files {
		if t, err := measured.Read(f); err == nil { // else no word can have taken it for readings
			all = append(all, t)
		}
	}
	return all
}
