package vocab

import (
	"go.starlark.net/starlark"
)

// exploredKind is what explore() shows.
var exploredKind = Kind{"a function or a stack", "", func(v starlark.Value) (bool, string) {
	switch v.(type) {
	case starlark.Callable, *Stack:
		return true, ""
	}
	return false, ""
}}

// choicesKind is what a control may be made of.
var choicesKind = Kind{`between(3*deg, 8*deg), one_of("YVO4", "LiNbO3"), True or False`, "",
	func(v starlark.Value) (bool, string) {
		switch v.(type) {
		case choices, starlark.Bool:
			return true, ""
		case *starlark.List, starlark.Tuple:
			return false, "got a " + v.Type() + ": write its values into one_of(...)"
		case *Sweep:
			return false, "got a sweep: write its ends into between(...)"
		}
		return false, ""
	}}

var _ = Register(Word{
	Name: "explore",
	Summary: "shows what a function draws, with sliders, lists and check boxes for its arguments that redraw it as " +
		"they move",
	Params: []Param{
		{Name: "what", Kind: exploredKind,
			Doc: "a function of the things that move; or a stack, whose parameters move"},
		{Name: "paths", Kind: dictKind.of("dict", `{"wedge1.apex": between(3*deg, 8*deg)}`), Optional: true,
			Doc: `for a stack: choices by the path of a parameter; several with commas move together, as in ` +
				`"wedge1.apex, wedge2.apex"`},
		{Name: "show", Kind: functionKind, Mode: Keyword, Optional: true,
			Doc: "for a stack: function of the changed stack that shows something of it; default: draw"},
		{Name: "choices", Kind: choicesKind, Mode: Others,
			Doc: "what moves, by its name: an argument of the function, or a setting of given(), which then has the " +
				"moved value for the function and for later cells"},
	},
	Returns: "an exploration: .values are the values of the moment by name, .result what the function has returned",
	Errors:  "the function has no such argument and there is no such setting, or the stack no such parameter",
	Example: exampleStack + "def isolation(apex=5*deg):\n" +
		"    t = s.adjusted({\"wedge1.apex\": apex, \"wedge2.apex\": apex})\n" +
		"    plot(t.backward(sweep(1530*nm, 1565*nm, 5*nm)))\n" +
		"e = explore(isolation, apex=between(3*deg, 8*deg))\ne.values",
	Detail: "Figures, drawings, tables and printed text are redrawn. The controls are Jupyter widgets, so that " +
		"the notebook server needs ipywidgets 6 or later; the kernel needs nothing. They move while a cell " +
		"runs where the front end uses subshells (Jupyter protocol 5.5). Elsewhere, in a " +
		"saved notebook and in a report, the output shows the values that it was drawn with, and what can move.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		return explore(t, a)
	},
})
