package vocab

import "go.starlark.net/starlark"

// Clearer is a Host whose front end can take away what a cell has shown so far. A headless run has
// nobody to take it away from, and keeps everything.
type Clearer interface {
	// ClearOutput clears now, or with wait just before the next output.
	ClearOutput(wait bool)
}

var _ = Register(Word{
	Name:    "clear_output",
	Summary: "takes away what the running cell has shown so far; does nothing in a rerun with nobody watching",
	Params:  []Param{{Name: "wait", Kind: boolKind, Default: starlark.False, Doc: "True waits for the next output, which avoids flicker"}},
	Returns: "None",
	Example: "clear_output(wait=True)",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		host, err := hostOf(t)
		if err != nil {
			return nil, err
		}
		if c, ok := host.(Clearer); ok {
			c.ClearOutput(a.Bool("wait"))
		}
		return starlark.None, nil
	},
})
