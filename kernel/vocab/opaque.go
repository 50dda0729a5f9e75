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

// dictOf is a dict of values by text.
func dictOf(keys []string, values []starlark.Value) (*starlark.Dict, error) {
	d := starlark.NewDict(len(keys))
	for i, key := range keys {
		if err := d.SetKey(starlark.String(key), values[i]); err != nil {
			return nil, err
		}
	}
	return d, nil
}

// frozen is a dict that a cell cannot change: changing it would change nothing.
func frozen(d *starlark.Dict, err error) (starlark.Value, error) {
	if err != nil {
		return nil, err
	}
	d.Freeze()
	return d, nil
}
