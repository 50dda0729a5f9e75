package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// Fibre is a single-mode fibre as a cell holds it.
type Fibre struct {
	opaque
	fibre element.Fibre
}

var fibreKind = instance[*Fibre]("a fibre such as fibre(mode_field_diameter=10.4*um)")

func (f *Fibre) String() string {
	if f.fibre.ModeRadius > 0 {
		return fmt.Sprintf("<fibre, mode field diameter %s>", shownIn(2*float64(f.fibre.ModeRadius), "um"))
	}
	return fmt.Sprintf("<fibre, core diameter %s, numerical aperture %g>",
		shownIn(2*float64(f.fibre.Core), "um"), f.fibre.Aperture)
}

// Attr returns a field or a method.
func (f *Fibre) Attr(name string) (starlark.Value, error) { return fibreType.attr(f, name) }

// AttrNames lists them.
func (f *Fibre) AttrNames() []string { return fibreType.names(f) }

var fibreType = newType("fibre", fibreMethods,
	valueAttr("index", "float", "phase index of the mode", func(f *Fibre) (starlark.Value, error) {
		return starlark.Float(f.fibre.PhaseIndex()), nil
	}))

var fibreMethods = newMethods("fibre",
	method[*Fibre]{Word{
		Name:    "mode_field_diameter",
		Summary: "diameter of the mode at 1/e² of its intensity",
		Params:  []Param{wavelengthParam},
		Returns: "a length, or a series over a sweep",
		Errors:  "the fibre is not single-mode at the wavelength",
		Example: "fibre(core_diameter=8.2*um, numerical_aperture=0.14).mode_field_diameter(1550*nm)",
		Source: "D. Marcuse, Bell Syst. Tech. J. 56, 703 (1977), for a step-index core; a stated diameter holds at " +
			"every wavelength",
	}, func(f *Fibre, _ *starlark.Thread, a Args) (starlark.Value, error) {
		axis, ls := points(a.Get("wavelength"))
		at := conditions{ctx: a.ctx, overL: axis, temperatures: []quantity.Temperature{quantity.Temperature(room.SI())}}
		for _, l := range ls {
			at.wavelengths = append(at.wavelengths, quantity.Length(l))
		}
		return at.each("mode field diameter", quantity.MustNamed("um"), func(_, l int) (float64, error) {
			radius, err := f.fibre.Mode(at.wavelengths[l])
			return 2 * float64(radius), err
		})
	}},
)

var _ = Register(Word{
	Name:    "fibre",
	Summary: "single-mode fibre, given by its mode field or by its core",
	Params: []Param{
		{Name: "mode_field_diameter", Kind: lengthKind.of("length", "10.4*um").positive(), Mode: Keyword,
			Optional: true,
			Doc:      "diameter of the mode at 1/e² of its intensity, taken as the same at every wavelength"},
		{Name: "core_diameter", Kind: lengthKind.of("length", "8.2*um").positive(), Mode: Keyword, Optional: true,
			Doc: "diameter of a step-index core; with numerical_aperture=, instead of mode_field_diameter="},
		{Name: "numerical_aperture", Kind: apertureKind, Mode: Keyword, Optional: true,
			Doc: "numerical aperture of the core"},
		{Name: "index", Kind: modeIndexKind, Mode: Keyword, Optional: true,
			Doc: "phase index of the mode, for reflections at the fibre end; 1.446 if omitted. The 1.468 of data " +
				"sheets is the group index"},
	},
	Returns: "a fibre for collimator(), with .index and .mode_field_diameter(wavelength)",
	Errors:  "neither mode_field_diameter= nor core_diameter= and numerical_aperture= are given, or both are",
	Example: "fibre(mode_field_diameter=10.4*um)",
	Source: "phase index: LP01 mode of a step-index core of 4.1 um in fused silica, relative index difference 0.36 " +
		"%, at 1550 nm",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		byMode, byCore := a.Has("mode_field_diameter"), a.Has("core_diameter") && a.Has("numerical_aperture")
		if byMode == byCore || byMode && (a.Has("core_diameter") || a.Has("numerical_aperture")) {
			return nil, errors.New("give mode_field_diameter=, or core_diameter= and numerical_aperture=")
		}
		return &Fibre{opaque{"fibre"}, element.Fibre{
			ModeRadius: a.Length("mode_field_diameter") / 2,
			Core:       a.Length("core_diameter") / 2,
			Aperture:   a.SI("numerical_aperture"),
			Index:      a.SI("index"),
		}}, nil
	},
})

// apertureKind is a numerical aperture.
var apertureKind = Kind{"a numerical aperture such as 0.14", "", func(v starlark.Value) (bool, string) {
	x, ok := plain(v)
	return ok && x > 0 && x < 1, ""
}}

// modeIndexKind is the phase index of a fibre's mode.
var modeIndexKind = Kind{"a phase index such as 1.446", "", func(v starlark.Value) (bool, string) {
	x, ok := plain(v)
	return ok && x > 1 && x < 4, ""
}}
