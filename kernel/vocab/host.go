package vocab

import (
	"errors"

	"go.starlark.net/starlark"

	"wedgework/reports/document"
	"wedgework/reports/measured"
	"wedgework/reports/notebook"
	"wedgework/reports/record"
)

// HostKey is the thread-local key under which a session's Config.Local holds the Host.
const HostKey = "wedgework host"

// Host is the outside world as words see it. It rides on the Starlark thread; *rerun.Desk is one, and
// the interactive kernel and the tests have their own. It is called from the goroutine that runs the
// cell.
type Host interface {
	// Emit adds an output to the running cell.
	Emit(notebook.Output)
	// Input returns the files bound to a named input, the file at path when none is.
	Input(name, path string) ([]measured.File, error)
	// Setting returns the expression that a setting is bound to; bound is false when the notebook's
	// default holds. The word evaluates and then says SettingIs.
	Setting(name string) (expression string, bound bool)
	// SettingIs tells the value in force, as printed.
	SettingIs(name, printed string)
	// Report takes the identification of the report.
	Report(record.Header)
	// Verified takes what verify() found, a *Verification.
	Verified(result any)
	// Warn takes a warning that the cell and the report must carry.
	Warn(text string)
}

// hostOf returns the host of a thread. A session without one is a slip of whoever made it, but a cell
// should hear of it in words.
func hostOf(t *starlark.Thread) (Host, error) {
	if h, ok := t.Local(HostKey).(Host); ok {
		return h, nil
	}
	return nil, errors.New("this session has no notebook around it, and so no inputs, settings or report")
}

// emit adds blocks as an output of the running cell.
func emit(h Host, v Shown) {
	o := notebook.Output{Type: notebook.DisplayOutput, Blocks: v.Blocks}
	if v.Blocks == nil {
		o.Data = map[string]any{"text/plain": v.Text}
	} else {
		o.Data = document.Bundle(v.Blocks)
	}
	h.Emit(o)
}
