package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/face"
	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "coating",
	Summary: "coating of the faces of an element",
	Params: []Param{
		{Name: "reflectance", Kind: residualKind, Optional: true,
			Doc: "power reflectance of each face, the same for both polarizations; the rest is transmitted and keeps " +
				`its polarization. Or "bare" for uncoated faces`},
		{Name: "layers", Kind: layersKind, Mode: Keyword, Optional: true,
			Doc: "thin films from the outside to the element, as pairs: an index or a glass, then a thickness or, as " +
				"a plain number, the optical thickness in wavelengths, so that (1.38, 0.25) is a quarter wave. " +
				"Computed for s and p at any angle of incidence"},
		{Name: "at", Kind: wavelengthKind, Mode: Keyword, Default: of(1550, "nm"),
			Doc: "vacuum wavelength for layers given in wavelengths and for the index of a glass; films have no " +
				"dispersion. Also the centre of the band in the summary"},
		{Name: "on", Kind: substrateKind, Mode: Keyword, Optional: true,
			Doc: "substrate in the summary; default: indices from 1.45 to 2.33"},
	},
	Returns: "a coating for coating= of an element, with .reflects(on, wavelength)",
	Errors: "neither reflectance= nor layers= is given, or both; the reflectance is not in the range from 0 to below " +
		"1; or a layer is impossible",
	Detail: `Bare faces, coating("bare") or coating="bare" of an element, reflect and transmit by the Fresnel ` +
		"coefficients, in crystals for each ray.",
	Example: `coating(reflectance=0.1*percent)
coating("bare")
coating(layers=[(1.38, 0.25)], at=1550*nm, on=crystal("YVO4"))
coating(layers=[(glass("fused silica"), 0.25), (2.1, 180*nm)])`,
	Source: "thin films by characteristic matrices (M. Born and E. Wolf, Principles of Optics, 1.6)",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		if a.Has("reflectance") == a.Has("layers") {
			return nil, errors.New(`give reflectance= or layers=, as in coating(reflectance=0.1*percent), coating("bare") ` +
				"or coating(layers=[(1.38, 280*nm)])")
		}
		c := &Coating{opaque: opaque{"coating"}, at: a.Length("at"), on: a.Get("on")}
		switch v := a.Get("reflectance").(type) {
		case starlark.String:
			c.coating.Bare = true
		case starlark.NoneType:
			layers, err := layersOf(t, a.Get("layers"), c.at)
			if err != nil {
				return nil, err
			}
			c.coating.Layers = layers
		default:
			r, _ := toQuantity(v)
			c.coating = element.Coating{Reflectance: r.SI()}
		}
		if err := c.coating.Check(); err != nil {
			return nil, err
		}
		return c, nil
	},
})

// residualKind is a reflectance or "bare".
var residualKind = Kind{ratioKind.Want + `, or "bare"`, ratioKind.Unit, func(v starlark.Value) (bool, string) {
	if s, ok := v.(starlark.String); ok {
		return s == bare, ""
	}
	return ratioKind.accept(v)
}}

// layersKind is a list of pairs; layersOf says what is wrong with a pair.
var layersKind = Kind{"a list of layers such as [(1.38, 280*nm), (2.1, 0.25)]", "", is[*starlark.List]}

func layersOf(t *starlark.Thread, v starlark.Value, at quantity.Length) ([]face.Layer, error) {
	list := v.(*starlark.List)
	if n := list.Len(); n > mostLayers {
		return nil, fmt.Errorf("layers holds %d layers, more than the limit of %d", n, mostLayers)
	}
	layers := make([]face.Layer, 0, list.Len())
	for i := range list.Len() {
		pair, ok := list.Index(i).(starlark.Tuple)
		if !ok || len(pair) != 2 {
			return nil, fmt.Errorf("layer %d must be a pair such as (1.38, 280*nm), got %s", i+1,
				describe(list.Index(i)))
		}
		l, err := layerOf(t, pair[0], pair[1], at)
		if err != nil {
			return nil, fmt.Errorf("layer %d: %w", i+1, err)
		}
		layers = append(layers, l)
	}
	if len(layers) == 0 {
		return nil, errors.New("layers= must have at least one layer such as (1.38, 280*nm); for uncoated faces " +
			"write coating(\"bare\")")
	}
	return layers, nil
}

// mostLayers is far above what is deposited (a choice).
const mostLayers = 10_000

// mostWaves is the optical thickness of a layer beyond which a plain number is a length without its unit (a choice).
const mostWaves = 20

// layerOf reads one layer: what it is of, and its thickness or its optical thickness in wavelengths.
func layerOf(t *starlark.Thread, of, thickness starlark.Value, at quantity.Length) (face.Layer, error) {
	var index float64
	if g, ok := of.(*Glass); ok {
		n, err := g.glass.At(at, quantity.Temperature(room.SI()))
		if err != nil {
			return face.Layer{}, err
		}
		if err := outside(t, g.glass, []quantity.Length{at}, unsaid); err != nil {
			return face.Layer{}, err
		}
		index = n.N
	} else if ok, _ := indexKind.accept(of); ok {
		index, _ = plain(of)
	} else {
		return face.Layer{}, fmt.Errorf("its first item must be an index from 1 to 10 or a glass, as in (1.38, "+
			"280*nm), got %s", describe(of))
	}
	q, ok := toQuantity(thickness)
	switch {
	case ok && q.Dimension() == quantity.OfLength:
		return face.Layer{Index: complex(index, 0), Thickness: quantity.Length(q.SI())}, nil
	case ok && q.Unit == (quantity.Unit{}) && q.Value > mostWaves:
		return face.Layer{}, fmt.Errorf("a plain number is an optical thickness in wavelengths, and %g wavelengths "+
			"are not a thin film; give a length with its unit, as in (%.4g, %.4g*nm)", q.Value, index, q.Value)
	case ok && q.Unit == (quantity.Unit{}):
		return face.Layer{Index: complex(index, 0), Thickness: quantity.Length(q.Value / index * float64(at))}, nil
	}
	return face.Layer{}, fmt.Errorf("its thickness must be a length, or a plain number of wavelengths, as in (1.38, "+
		"280*nm) or (1.38, 0.25), got %s", describe(thickness))
}
