package vocab

import (
	"fmt"
	"slices"

	"go.starlark.net/starlark"
)

// opaque gives a value of the vocabulary what every Starlark value needs and nothing may use: it is
// immutable, true, and no key of a dict. Embed it and add String, Type and the attributes.
type opaque struct{ kind string }

func (o opaque) Type() string          { return o.kind }
func (o opaque) Freeze()               {}
func (o opaque) Truth() starlark.Bool  { return true }
func (o opaque) Hash() (uint32, error) { return 0, fmt.Errorf("unhashable: %s", o.kind) }

// orNone is the value of an attribute that is known and has none here: None. Nil for one that is not known.
func orNone(known []string, name string) starlark.Value {
	if slices.Contains(known, name) {
		return starlark.None
	}
	return nil
}

// attributes is the JSON of a value that is its attributes: all of them when none are named.
func attributes(v starlark.HasAttrs, names ...string) any {
	if len(names) == 0 {
		names = v.AttrNames()
	}
	m := map[string]any{}
	for _, name := range names {
		if a, err := v.Attr(name); err == nil {
			m[name] = JSON(a)
		}
	}
	return m
}
