package vocab

import (
	"fmt"
	"path"

	"go.starlark.net/starlark"
)

// loaded reads a file that a cell loads names from. It is an input of the report as readings are.
func loaded(t *starlark.Thread, file string) ([]byte, error) {
	if path.Ext(file) != ".star" {
		return nil, fmt.Errorf("%q is not the name of a file of cells, such as \"parts.star\"", file)
	}
	f, err := companion(t, file)
	if err != nil {
		return nil, err
	}
	return f.Data, nil
}
