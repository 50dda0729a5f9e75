package vocab

import (
	"fmt"

	"go.starlark.net/starlark"
)

// opaque gives a value of the vocabulary what every Starlark value needs and nothing may use: it is
// immutable, true, and no key of a dict. Embed it and add String, Type and the attributes.
type opaque struct{ kind string }

func (o opaque) Type() string          { return o.kind }
func (o opaque) Freeze()               {}
func (o opaque) Truth() starlark.Bool  { return true }
func (o opaque) Hash() (uint32, error) { return 0, fmt.Errorf("unhashable: %s", o.kind) }
