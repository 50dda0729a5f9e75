package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
)

// shower is a value that is shown as more than a line of text.
type shower interface{ blocks() []document.Block }

// Show says how a value is shown when it ends a cell or is given to display(): cards, figures and tables
// as blocks, a text as it is; everything else the session shows as text. It is meant for session.Config.
func Show(v starlark.Value) (session.Shown, error) {
	if s, ok := v.(shower); ok {
		return session.Shown{Blocks: s.blocks()}, nil
	}
	if isList(v) && starlark.Len(v) <= mostRows {
		items, _ := elements(v)
		if t, ok := pathsTable(items); ok {
			return session.Shown{Blocks: []document.Block{t}}, nil
		}
		if t, ok := verificationsTable(items); ok {
			return session.Shown{Blocks: []document.Block{t}}, nil
		}
	}
	if c, ok := v.(*callable); ok { // a word at the end of a cell asks what it does
		return session.Shown{Text: c.Doc()}, nil
	}
	if s, ok := starlark.AsString(v); ok {
		return session.Shown{Text: s}, nil
	}
	if q, ok := v.(Quantity); ok {
		return session.Shown{Text: byDefault(q.Quantity)}, nil
	}
	switch v.(type) {
	case *starlark.List, starlark.Tuple, *starlark.Dict, *starlark.Set:
		return session.Shown{}, nil // may be far larger than what is shown
	}
	return session.Shown{Text: v.String()}, nil
}
