package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/stack"
)

// ghostModes are the treatments of light that bounces twice between parallel faces.
var ghostModes = map[string]stack.Ghosts{
	"coherent":   stack.GhostsCoherent,
	"incoherent": stack.GhostsIncoherent,
	"none":       stack.GhostsNone,
}

var _ = Register(Word{
	Name:    "stack",
	Summary: "elements put together between two collimators, the receiving one aligned on the forward light",
	Params: []Param{
		{Name: "elements", Kind: partKind, Mode: Many, Doc: "wedges, rotators, gaps and other elements, and groups of them, in the order forward light meets them"},
		{Name: "beam", Kind: collimatorKind, Mode: Keyword, Doc: "the pair of collimators"},
		{Name: "align_at", Kind: wavelengthKind, Mode: Keyword, Default: of(1550, "nm"), Doc: "vacuum wavelength at which the receiver is aligned"},
		{Name: "align_temperature", Kind: temperatureKind, Mode: Keyword, Default: room, Doc: "temperature at which it is; the pose then holds at every other"},
		{Name: "ghosts", Kind: choice("coherent", "incoherent", "none"), Mode: Keyword, Default: starlark.String("coherent"), Doc: "what becomes of light that bounces twice between parallel faces: it adds in amplitude and makes ripple, in power with the ripple averaged out, or is left out"},
	},
	Returns: "a stack with .forward, .backward, .adjusted, .parameters, .elements, .beam and .cautions",
	Errors:  "two elements have one name, the parts do not fit the working distance, or the forward light cannot be received",
	Example: exampleStack + "s",
	Detail:  "Unnamed elements are called wedge1, wedge2, rotator1, gap1, ... in order; \"wedge2.axis\" is then the path of a parameter.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		spec := stack.Spec{
			Beam:             arg[*Collimator](a, "beam").pair,
			AlignAt:          a.Length("align_at"),
			AlignTemperature: a.Temperature("align_temperature"),
		}
		var err error
		if spec.Elements, err = partsOf(a.Many()); err != nil {
			return nil, err
		}
		s, err := stack.New(spec)
		if err != nil {
			return nil, err
		}
		if g := ghostModes[a.Text("ghosts")]; g != stack.GhostsCoherent {
			s = s.WithGhosts(g)
		}
		return newStack(s), nil
	},
})
