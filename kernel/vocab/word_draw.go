package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
	"wedgework/reports/drawing"
)

var _ = Register(Word{
	Name:    "draw",
	Summary: "draws the chief rays of a stack among its parts, forward and backward, and shows the figure",
	Params: []Param{
		{Name: "stack", Kind: stackKind, Doc: "what is drawn"},
		{Name: "wavelength", Kind: wavelengthKind, Default: of(1550, "nm"), Doc: "the vacuum wavelength"},
		{Name: "temperature", Kind: temperatureKind, Default: room, Doc: "the temperature"},
	},
	Returns: "None; the figure is an output of the cell, its caption says angle and offset of every path",
	Errors:  "the wavelength or temperature is outside what a material is known for",
	Example: exampleStack + "draw(s)",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		f, err := drawing.Rays(arg[*Stack](a, "stack").stack, a.Length("wavelength"), a.Temperature("temperature"))
		if err != nil {
			return nil, err
		}
		return starlark.None, show(t, session.Shown{Blocks: []document.Block{f}, Text: f.Text})
	},
})
