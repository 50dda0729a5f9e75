package vocab

import (
	"context"
	"errors"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/measured"
	"wedgework/reports/notebook"
	"wedgework/reports/record"
)

// HostKey is the thread-local key under which a session's Config.Local holds the Host.
const HostKey = "wedgework host"

// Host is the outside world as words see it. It rides on the Starlark thread; *rerun.Desk is one, and
// the interactive kernel and the tests have their own. It is called from the goroutine that runs the
// cell. Outputs do not go through it: the session keeps them in order with what the cell prints.
type Host interface {
	// Input returns the files bound to a named input, the file at path when none is. Reading ends with the context.
	Input(ctx context.Context, name, path string) ([]measured.File, error)
	// Setting returns the expression that a setting is bound to; bound is false when the notebook's
	// default holds. The word evaluates and then says SettingIs.
	Setting(name string) (expression string, bound bool)
	// SettingIs tells the value in force, as printed.
	SettingIs(name, printed string)
	// Report takes the identification of the report.
	Report(record.Header)
	// Verified takes what verify() found, a *verify.Result.
	Verified(result any)
	// Warn takes a warning that the cell and the report must carry.
	Warn(text string)
}

// Attended is a Host with a person before it, who reads what is said beside the outputs of a cell.
type Attended interface {
	Host
	// Page shows something to read in a place of its own. It reports whether the front end has one.
	Page(*starlark.Thread, session.Shown) bool
}

// PaperHost is a Host that makes pages.
type PaperHost interface {
	Host
	// Paper takes what report(paper=) asks for, "a4" or "letter".
	Paper(name string)
}

// Demanding is a Host that keeps what report(require=) demands of every file of readings.
type Demanding interface {
	Host
	// Demand takes keys of metadata; it is an error once something has been verified without.
	Demand(keys []string) error
	// Demanded returns them.
	Demanded() []string
}

// Listing is a Host that knows which files its cells can read.
type Listing interface {
	Host
	// Files lists them, as paths that a cell would write, sorted.
	Files() []string
}

// hostOf returns the host of a thread. A session without one is a slip of whoever made it, but a cell
// should hear of it in words.
func hostOf(t *starlark.Thread) (Host, error) {
	if h, ok := t.Local(HostKey).(Host); ok {
		return h, nil
	}
	return nil, errors.New("this session does not belong to a notebook: inputs, settings and reports are not available")
}

// show emits a value as an output of the running cell, after what the cell has printed so far.
func show(t *starlark.Thread, v session.Shown) error { return showAs(t, "", v) }

// showAs emits a value that replaces what the cell shows under the same id; "" is none.
func showAs(t *starlark.Thread, id string, v session.Shown) error {
	o := notebook.Output{Type: notebook.DisplayOutput, DisplayID: id, Blocks: v.Blocks,
		Data: map[string]any{"text/plain": v.Text}}
	if v.Blocks != nil {
		var err error
		if o.Data, err = session.Bundle(t, v.Blocks); err != nil {
			return err
		}
	}
	return session.Emit(t, o)
}
