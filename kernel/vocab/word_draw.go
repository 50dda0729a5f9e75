package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
	"wedgework/reports/drawing"
)

var _ = Register(Word{
	Name:    "draw",
	Summary: "draws a stack to scale: side view with the chief rays of both directions, and end view",
	Params: []Param{
		{Name: "stack", Kind: stackKind, Doc: "the stack"},
		{Name: "wavelength", Kind: wavelengthKind, Optional: true,
			Doc: "vacuum wavelength; default: the alignment wavelength"},
		{Name: "temperature", Kind: temperatureKind, Optional: true,
			Doc: "temperature; default: the alignment temperature"},
	},
	Returns: "None; the two figures, side and end view, are outputs of the cell",
	Errors:  "the wavelength or temperature is outside the range of a material",
	Example: exampleStack + "draw(s)",
	Detail: "Rays are chief rays: they start along the axis of the collimator that they leave. Angles and offsets " +
		"are measured from the axis of the collimator at which they arrive, in the plane of its lens face. Paths " +
		"with less than a millionth of the power are omitted; the caption says so. Double reflections follow the " +
		"rays of the light that they come from and are not drawn; .paths lists them.",
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
