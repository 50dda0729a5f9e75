package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
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
	Summary: "elements between two collimators, with the receiver aligned to the forward light",
	Params: []Param{
		{Name: "elements", Kind: partKind, Mode: Many,
			Doc: "wedges, rotators, gaps and other elements, and groups or lists of them, in the order in which " +
				"forward light passes them"},
		{Name: "beam", Kind: collimatorKind, Mode: Keyword, Doc: "pair of collimators"},
		{Name: "align_at", Kind: wavelengthKind, Mode: Keyword, Default: of(1550, "nm"),
			Doc: "vacuum wavelength at which the receiver is aligned"},
		{Name: "align_temperature", Kind: temperatureKind, Mode: Keyword, Default: room,
			Doc: "temperature at which the receiver is aligned; it then stays in place at all temperatures"},
		{Name: "ports", Kind: listOf(portKind, `a list of ports such as [port("3", side="front", aligned_to="2")]`),
			Mode: Keyword, Optional: true,
			Doc: "further collimators at either end, or where those of the pair, \"1\" and \"2\", stand"},
		{Name: "ghosts", Kind: choice("coherent", "incoherent", "none"), Mode: Keyword,
			Default: starlark.String("coherent"),
			Doc: "double reflections between parallel faces: coherent adds them in amplitude, which gives ripple; " +
				"incoherent adds them in power, with the ripple averaged out; none omits them"},
		{Name: "linewidth", Kind: linewidthKind, Mode: Keyword, Optional: true,
			Doc: "full width at half maximum of the Gaussian spectrum of the source, as a frequency, or as a " +
				"wavelength at align_at=. It averages the ripple of coherent double reflections and of the coherent " +
				"return loss. Default: monochromatic, full ripple"},
	},
	Returns: "a stack with .forward, .backward, .between, .ports, .adjusted, .parameters, .elements, .beam and " +
		".cautions",
	Errors: "two elements have the same name, the elements do not fit into the working distance, or the forward " +
		"light does not reach the receiver",
	Example: exampleStack + "s\nstack(w1, gap(0.5*mm), r, gap(0.5*mm), w2, beam=collimator(waist=200*um, " +
		"working_distance=10*mm), linewidth=0.1*nm)",
	Source: "coupling of displaced and tilted Gaussian modes: Joyce and DeLoach, Applied Optics 23, 4187 (1984)",
	Detail: "Unnamed elements are called wedge1, wedge2, rotator1, gap1, ... in order; \"wedge2.axis\" is then the " +
		"path of a parameter. With linewidth=, interference of two arrivals is weighted with the degree of coherence " +
		"exp(-(pi linewidth delay)^2/(4 ln 2)). The paths without reflection count as one arrival. It does not " +
		"average variations that are slower in wavelength. A verification uses the ripple of a narrow source.",
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
		if spec.Ports, err = portsOf(a, spec.Beam.Focal); err != nil {
			return nil, err
		}
		s, err := stack.New(spec)
		if err != nil {
			return nil, err
		}
		mode := ghostModes[a.Text("ghosts")]
		if a.Has("linewidth") {
			if mode != stack.GhostsCoherent {
				return nil, fmt.Errorf("linewidth= needs ghosts=\"coherent\", got ghosts=%q", a.Text("ghosts"))
			}
			width := hertz(a.Quantity("linewidth"), spec.AlignAt)
			if carrier := quantity.LightSpeed / float64(spec.AlignAt); !(width < carrier) {
				return nil, fmt.Errorf("linewidth= must be less than the frequency of the light, %.4g GHz at %s, got "+
					"%.4g GHz",
					carrier/1e9, inNanometres(spec.AlignAt), width/1e9)
			}
			s = s.WithLinewidth(width)
		}
		return newStack(s.WithGhosts(mode)), nil
	},
})

// linewidthKind is a width in frequency or in wavelength.
var linewidthKind = func() Kind {
	frequency, wavelength := amount("linewidth", "GHz", "10*GHz", quantity.OfFrequency).positive(),
		lengthKind.positive()
	return Kind{frequency.Want + " or 0.1*nm", "GHz", func(v starlark.Value) (bool, string) {
		if ok, _ := wavelength.accept(v); ok {
			return true, ""
		}
		return frequency.accept(v)
	}}
}()

// hertz returns a linewidth as a frequency; in wavelength it is one about l.
func hertz(width quantity.Quantity, l quantity.Length) float64 {
	if width.Dimension() == quantity.OfFrequency {
		return width.SI()
	}
	return quantity.LightSpeed * width.SI() / float64(l*l)
}
