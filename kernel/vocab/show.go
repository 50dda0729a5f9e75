package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/reports/document"
)

// Shown is how a value looks: blocks, or a line of text where there are none.
type Shown struct {
	Blocks []document.Block
	Text   string
}

// shower is a value that is shown as more than a line of text.
type shower interface{ blocks() []document.Block }

// Show says how a value is shown when it ends a cell or is given to display(): cards, figures and tables
// as blocks, everything else as the text that str() gives.
func Show(v starlark.Value) Shown {
	if s, ok := v.(shower); ok {
		return Shown{Blocks: s.blocks()}
	}
	if c, ok := v.(*callable); ok { // a word at the end of a cell asks what it does
		return Shown{Text: c.Doc()}
	}
	if s, ok := starlark.AsString(v); ok {
		return Shown{Text: s}
	}
	return Shown{Text: v.String()}
}
