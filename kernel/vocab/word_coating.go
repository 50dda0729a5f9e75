package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/face"
	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "coating",
	Summary: "the treatment of an element's faces",
	Params: []Param{
		{Name: "reflectance", Kind: ratioKind, Optional: true, Doc: "what each face still reflects, in power, for both polarizations; the rest is transmitted, s and p kept"},
		{Name: "layers", Kind: layersKind, Mode: Keyword, Optional: true, Doc: "thin films from the outside to the part, each (index, thickness): s and p at any incidence follow"},
	},
	Returns: "a coating for coating= of an element",
	Errors:  "neither or both are given, the reflectance is not from 0 up to 1, or a layer cannot be",
	Detail:  "Faces without any coating are written coating=\"bare\": they reflect and transmit as Fresnel's coefficients of their media say.",
	Example: "coating(reflectance=0.1*percent)",
	Source:  "thin films by characteristic matrices (M. Born and E. Wolf, Principles of Optics, 1.6)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		if a.Has("reflectance") == a.Has("layers") {
			return nil, fmt.Errorf("give reflectance= or layers=, as in coating(reflectance=0.1*percent) or coating(layers=[(1.38, 280*nm)])")
		}
		c := element.Coating{}
		if a.Has("reflectance") {
			c.Reflectance = a.SI("reflectance")
		} else {
			layers, err := layersOf(a.Get("layers"))
			if err != nil {
				return nil, err
			}
			c.Layers = layers
		}
		if err := c.Check(); err != nil {
			return nil, err
		}
		return &Coating{opaque{"coating"}, c}, nil
	},
})

// layersKind is a list of pairs; layersOf says what is wrong with a pair.
var layersKind = Kind{"a list of layers such as [(1.38, 280*nm), (2.1, 180*nm)]", "", is[*starlark.List]}

func layersOf(v starlark.Value) ([]face.Layer, error) {
	list := v.(*starlark.List)
	layers := make([]face.Layer, 0, list.Len())
	for i := range list.Len() {
		pair, ok := list.Index(i).(starlark.Tuple)
		if !ok || len(pair) != 2 {
			return nil, fmt.Errorf("layer %d must be a pair such as (1.38, 280*nm), got %s", i+1, describe(list.Index(i)))
		}
		index, isNumber := starlark.AsFloat(pair[0])
		thickness, isQuantity := toQuantity(pair[1])
		if !isNumber || !isQuantity || thickness.Dimension() != quantity.OfLength {
			return nil, fmt.Errorf("layer %d must be an index and a thickness such as (1.38, 280*nm), got (%s, %s)", i+1, describe(pair[0]), describe(pair[1]))
		}
		layers = append(layers, face.Layer{Index: complex(index, 0), Thickness: quantity.Length(thickness.SI())})
	}
	if len(layers) == 0 {
		return nil, fmt.Errorf("layers must hold at least one layer such as (1.38, 280*nm); faces without a coating are \"bare\"")
	}
	return layers, nil
}
