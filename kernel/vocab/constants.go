package vocab

import (
	"go.starlark.net/starlark"
)

// ConstantsHost is a Host that wants to know which of the program's own constants the cells asked for, to keep them
// with the report: a later release may have better ones.
type ConstantsHost interface {
	Host
	// Constants takes the name a material was asked for by, as the program spells it, and the data file its numbers
	// come from.
	Constants(name string, data []byte)
}

// asked tells the host about the constants of a built-in material; one of the user's has no data file, and its numbers
// stand in the cell.
func asked(t *starlark.Thread, name string, data []byte) {
	if h, ok := t.Local(HostKey).(ConstantsHost); ok && len(data) > 0 {
		h.Constants(name, data)
	}
}
