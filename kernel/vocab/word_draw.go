package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
	"wedgework/reports/drawing"
)

var _ = Register(Word{
	Name:    "draw",
	Summary: "draws a stack: the chief rays of both directions among its parts, and the parts end on",
	Params: []Param{
		{Name: "stack", Kind: stackKind, Doc: "what is drawn"},
		{Name: "wavelength", Kind: wavelengthKind, Default: of(1550, "nm"), Doc: "the vacuum wavelength"},
		{Name: "temperature", Kind: temperatureKind, Default: room, Doc: "the temperature"},
	},
	Returns: "None; the figures are outputs of the cell, the caption of the first says angle and offset of every path",
	Errors:  "the wavelength or temperature is outside what a material is known for",
	Example: exampleStack + "draw(s)",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		f, err := drawing.Rays(arg[*Stack](a, "stack").stack, a.Length("wavelength"), a.Temperature("temperature"))
		if err != nil {
			return nil, err
		}
		ends := drawing.Ends(arg[*Stack](a, "stack").stack, a.Temperature("temperature"))
		for _, figure := range []document.Figure{f, ends} { // one output each, so that a front end shows each as a picture
			if err := show(t, session.Shown{Blocks: []document.Block{figure}, Text: figure.Text}); err != nil {
				return nil, err
			}
		}
		return starlark.None, nil
	},
})
