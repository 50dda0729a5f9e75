package live

import (
	"context"
	"errors"
	"fmt"

	"wedgework/kernel"
	"wedgework/kernel/session"
	"wedgework/kernel/vocab"
	"wedgework/kernel/widget"
	"wedgework/optics/stack"
	"wedgework/reports/document"
	"wedgework/reports/measured"
	"wedgework/reports/record"
)

// host is the outside world of the cells of an open notebook.
type host struct {
	save     func(name string, data []byte) error // nil: nobody has allowed it
	readFile func(ctx context.Context, path string) (measured.File, error)
	list     func() []string // files that cells can read; nil for not known
	widgets  *widget.Manager // of the kernel
	demanded []string        // metadata that files of readings must state: by the last report() that says so
}

var (
	_ vocab.ModelHost = (*host)(nil)
	_ vocab.Attended  = (*host)(nil)
	_ vocab.Demanding = (*host)(nil)
	_ vocab.Exploring = (*host)(nil)
	_ vocab.Saver     = (*host)(nil)
	_ vocab.Listing   = (*host)(nil)
)

// Demand keeps the metadata that report() requires. Cells of an open notebook run in any order: the next verify() sees
// it.
func (h *host) Demand(keys []string) error { h.demanded = keys; return nil }

// Demanded returns that metadata.
func (h *host) Demanded() []string { return h.demanded }

// cellOf is the cell that a thread runs; one without a pager and without comms where it runs none, as a redrawing.
func cellOf(t *session.Thread) kernel.Cell {
	c, _ := session.AttachedOf(t).(kernel.Cell)
	return c
}

// Page shows something in the pager.
func (h *host) Page(t *session.Thread, s session.Shown) bool {
	page := cellOf(t).Page
	if page == nil {
		return false
	}
	data := map[string]any{"text/plain": s.Text}
	if s.Blocks != nil {
		data = document.Bundle(s.Blocks)
	}
	page(data)
	return true
}

// Files lists what the cells can read.
func (h *host) Files() []string {
	if h.list == nil {
		return nil
	}
	return h.list()
}

// Save writes a file that a cell has made.
func (h *host) Save(name string, data []byte) error {
	if h.save == nil {
		return errors.New("this kernel may not write files: wedgework kernel install --save lets it write into out/ " +
			"beside the notebook")
	}
	return h.save(name, data)
}

// Input reads the default file of a named input, anew each time: the engineer may have measured again.
func (h *host) Input(ctx context.Context, name, path string) ([]measured.File, error) {
	if path == "" {
		return nil, fmt.Errorf("input %q has no default: an open notebook reads the default of each input, as in "+
			"measured(%q, default=\"sweep.csv\")", name, name)
	}
	f, err := h.readFile(ctx, path)
	if err != nil {
		return nil, fmt.Errorf("default of input %q: %w", name, err)
	}
	return []measured.File{f}, nil
}

// Setting leaves each setting at its default.
func (h *host) Setting(string) (expression string, bound bool) { return "", false }

// What a report would carry is on the cell already: the words show verdicts and warnings themselves.

func (h *host) SettingIs(string, string) {}
func (h *host) Report(record.Header)     {}
func (h *host) Model(*stack.Stack)       {}
func (h *host) Verified(any)             {}
func (h *host) Warn(string)              {}
