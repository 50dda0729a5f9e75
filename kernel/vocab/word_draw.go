package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
	"wedgework/reports/drawing"
)

var _ = Register(Word{
	Name:    "draw",
	Summary: "draws a stack: the parts to scale, the chief rays of both directions, and the parts end on",
	Params: []Param{
		{Name: "stack", Kind: stackKind, Doc: "what is drawn"},
		{Name: "wavelength", Kind: wavelengthKind, Optional: true, Doc: "the vacuum wavelength; that of alignment when left out"},
		{Name: "temperature", Kind: temperatureKind, Optional: true, Doc: "the temperature; that of alignment when left out"},
	},
	Returns: "None; the figures are outputs of the cell, one from the side and one end on",
	Errors:  "the wavelength or temperature is outside what a material is known for",
	Example: exampleStack + "draw(s)",
	Detail: "Rays are chief rays: those along the axis of the collimator that they leave. Angles and offsets are those of the chief ray against the axis of the collimator it arrives at, " +
		"in the plane of its lens face. Paths that carry less than a millionth of the power are left out, and the caption says so. " +
		"Double bounces keep to the rays of the light that they come from and are not drawn; .paths lists them.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		s := arg[*Stack](a, "stack").stack
		l, at := s.Spec().AlignAt, s.Spec().AlignTemperature
		if a.Has("wavelength") {
			l = a.Length("wavelength")
		}
		if a.Has("temperature") {
			at = a.Temperature("temperature")
		}
		figures, err := session.Await(session.ContextOf(t), func() ([]document.Figure, error) {
			d, err := drawing.New(s, l, at)
			if err != nil {
				return nil, err
			}
			return []document.Figure{d.Rays(), d.Ends()}, nil
		})
		if err != nil {
			return nil, err
		}
		for _, figure := range figures { // one output each, so that a front end shows each as a picture
			if err := show(t, session.Shown{Blocks: []document.Block{figure}, Text: figure.Text}); err != nil {
				return nil, err
			}
		}
		return starlark.None, nil
	},
})
