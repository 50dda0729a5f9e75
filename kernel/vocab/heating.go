package vocab

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
)

// Heating is what absorbed light does to a rotator, as a cell holds it.
type Heating struct {
	opaque
	did   element.Heating
	light element.Light
	said  []string
}

func (h *Heating) String() string {
	return fmt.Sprintf("<heating by %s, at most %s>", inWatts(h.light.Power).Text(3),
		quantity.Of(h.did.Rise.Most, "kelvin").Text(3))
}

// Attr returns a field or a method.
func (h *Heating) Attr(name string) (starlark.Value, error) { return heatingType.attr(h, name) }

// AttrNames lists them.
func (h *Heating) AttrNames() []string { return heatingType.names(h) }

// inWatts writes a power in W, or a small one in mW.
func inWatts(w float64) quantity.Quantity {
	if math.Abs(w) < 1 && w != 0 {
		return quantity.FromSI(w, quantity.MustNamed("mW"))
	}
	return quantity.FromSI(w, quantity.MustNamed("watt"))
}

// heatingFigures are the figures of a heating: what they are called, and how a number of theirs is written.
var heatingFigures = []struct {
	name, summary string
	of            func(*element.Heating) material.Band
	in            func(float64) quantity.Quantity
	lens          bool
}{
	{"absorbed", "absorbed power", func(h *element.Heating) material.Band { return h.Absorbed }, inWatts, false},
	{"rise", "temperature rise over the mount, averaged over the power of the beam",
		func(h *element.Heating) material.Band { return h.Rise }, inKelvin, false},
	{"peak_rise", "temperature rise over the mount, on the axis",
		func(h *element.Heating) material.Band { return h.Peak }, inKelvin, false},
	{"drift", "change of the rotation, averaged over the beam",
		func(h *element.Heating) material.Band { return h.Drift },
		func(x float64) quantity.Quantity { return quantity.FromSI(x, degree) }, false},
	{"extinction", "extinction ratio that the heat alone leaves, behind an analyser of any aperture: thermal " +
		"stress of a rod, and the rotation that varies across the beam",
		func(h *element.Heating) material.Band { return h.Crossed },
		func(x float64) quantity.Quantity { return quantity.Of(-quantity.Decibels(x/(1-x)), "dB") }, false},
	{"focal_length", "focal length of the thermal lens on the axis; positive: it focuses",
		func(h *element.Heating) material.Band { return h.Focus },
		func(x float64) quantity.Quantity { return quantity.FromSI(1/x, quantity.MustNamed("metre")) }, true},
	{"lens_loss", "loss by the thermal lens if nothing is refocused",
		func(h *element.Heating) material.Band { return h.Lost },
		func(x float64) quantity.Quantity { return quantity.Of(-quantity.Decibels(1-x), "dB") }, true},
}

func inKelvin(x float64) quantity.Quantity { return quantity.Of(x, "kelvin") }

var heatingType = newType("heating", methodSet[*Heating]{}, heatingAttrs()...)

func heatingAttrs() []attr[*Heating] {
	var all []attr[*Heating]
	for _, f := range heatingFigures {
		a := quantityAttr(f.name, f.summary+": the upper bound of the effect",
			func(h *Heating) quantity.Quantity { return f.in(f.of(&h.did).Most) })
		if f.lens {
			a = a.when(func(h *Heating) bool { return h.did.Lensed })
		}
		all = append(all, a)
	}
	return append(all, valueAttr("bands", "dict", "each figure as (least effect, most effect), by name",
		func(h *Heating) (starlark.Value, error) {
			var names []string
			var bands []starlark.Value
			for _, f := range heatingFigures {
				if f.lens && !h.did.Lensed {
					continue
				}
				b := f.of(&h.did)
				names = append(names, f.name)
				bands = append(bands, starlark.Tuple{fromQuantity(f.in(b.Least)), fromQuantity(f.in(b.Most))})
			}
			return frozen(dictOf(names, bands))
		}), textsAttr("cautions", "warnings about this heating", func(h *Heating) []string { return h.said }))
}

func (h *Heating) blocks() []document.Block {
	t := document.Table{
		Caption: fmt.Sprintf("Heating by %s at %s, beam radius %s, mounted at a radius of %s",
			inWatts(h.light.Power).Text(3), inNanometres(h.light.Wavelength), shownIn(float64(h.light.Waist), "um"),
			inMillimetres(h.light.Rim)),
		Columns: []document.Column{{Head: "figure"}, {Head: "bound", Align: document.Right},
			{Head: "least effect", Align: document.Right}},
	}
	for _, f := range heatingFigures {
		if f.lens && !h.did.Lensed {
			continue
		}
		b := f.of(&h.did)
		t.Rows = append(t.Rows, []string{spaced(f.name), f.in(b.Most).Text(3), f.in(b.Least).Text(3)})
	}
	t.Note = "bound: all heat leaves by the mantle, which has the temperature of the mount, and the constants of the " +
		"material are at the unfavourable end of their bands; least effect: at the other end"
	if !h.did.Stressed {
		t.Note += ". Thermal stress is not included: the photoelastic constants of the material are not known"
	}
	return append([]document.Block{t}, cautions(h.said)...)
}

// The parameters that heating is computed from.
var (
	powerParam = Param{Name: "power", Kind: amount("power", "watt", "0.5*watt", quantity.OfPower).positive(),
		Doc: "optical power that reaches the rotator"}
	heatWaistParam = Param{Name: "waist", Kind: lengthKind.of("length", "0.5*mm").positive(), Mode: Keyword,
		Doc: "beam radius in it at 1/e² of the intensity"}
	rimParam = Param{Name: "radius", Kind: lengthKind.of("length", "1.5*mm").positive(), Mode: Keyword,
		Doc: "distance from the axis to the mount, where the part has the temperature of the mount"}
	heatAtParam   = Param{Name: "wavelength", Kind: wavelengthKind, Mode: Keyword, Doc: "the vacuum wavelength"}
	heatTempParam = Param{Name: "temperature", Kind: temperatureKind, Mode: Keyword, Default: room,
		Doc: "temperature of the mount"}
	cutParam = Param{Name: "cut", Kind: choice("001", "111"), Mode: Keyword, Optional: true,
		Doc: "direction of the crystal along a rod; if omitted, unknown, and the bound is for the worst"}
	azimuthParam = Param{Name: "azimuth", Kind: angleKind.of("angle", "45*deg"), Mode: Keyword, Optional: true,
		Doc: "of a [001] cut, azimuth of the polarization halfway through the rod, from a crystal axis; if omitted, " +
			"unknown, and the bound is for the worst, along an axis. 45° is best"}
	heatParams = []Param{heatWaistParam, rimParam, heatAtParam, heatTempParam, cutParam, azimuthParam}
)

const heatedRod = `rod = rotator(paramagnet("TGG"), length=18*mm, field=1.1*tesla)
`

// laserSafety is what every page of help about power says.
const laserSafety = " Light of such powers can injure eyes and skin and start fires: work to local codes such as IEC " +
	"60825-1 and to a licensed laser safety officer."

var heatingMethods = []method[*Element]{
	{Word{
		Name: "heating",
		Summary: "upper bound of what absorbed light does to a rotator: temperature, drift of the rotation, " +
			"depolarization, thermal lens",
		Params: append([]Param{powerParam}, heatParams...),
		Returns: "a heating with .absorbed, .rise, .peak_rise, .drift, .extinction, .focal_length, .lens_loss " +
			"(the last two None if dn/dT is unknown), each the upper bound of the effect, and .bands",
		Errors: "the thermal conductivity of the material is unknown (conductivity= of garnet() and paramagnet()), " +
			"the beam does not fit the radius, or the temperature is above the Curie temperature of a film",
		Detail: "All heat flows to the mantle. Each figure is computed at both ends of the bands of the material's " +
			"constants. All loss counts as heat. Thermal stress is included for a rod of known photoelastic " +
			"constants: a long rod, plane strain; for a film they are unknown. A fibre collects less of the light " +
			"that stress depolarizes than an open analyser does." + laserSafety,
		Example: heatedRod + `rod.heating(20*watt, waist=0.5*mm, radius=2*mm, wavelength=1064*nm)`,
		Source: "radial conduction in closed form; depolarization by the rotation of the Stokes vector of each ray, " +
			"for little heat in proportion to the square of p = (L/λ)(αQ/κ)P",
	}, (*Element).heating},
	{Word{
		Name:    "power_limit",
		Summary: "highest optical power at which the upper bounds of heating() are within limits",
		Params: append([]Param{
			{Name: "extinction", Kind: levelKind.positive(), Mode: Keyword, Optional: true,
				Doc: "minimum of the extinction ratio that the heat leaves"},
			{Name: "drift", Kind: angleKind.of("angle", "0.5*deg").positive(), Mode: Keyword, Optional: true,
				Doc: "maximum change of the rotation, of either sign"},
			{Name: "peak_rise", Kind: differenceKind.of("temperature difference", "20*kelvin").positive(),
				Mode: Keyword, Optional: true, Doc: "maximum temperature rise on the axis"},
			{Name: "lens_loss", Kind: levelKind.of("level", "0.1*dB").positive(), Mode: Keyword, Optional: true,
				Doc: "maximum loss by the thermal lens"},
		}, heatParams...),
		Returns: "a quantity, the power",
		Errors: "no limit is given, the rotator absorbs nothing, or the thermal conductivity of its material is " +
			"unknown",
		Detail:  "The lowest of the powers that the limits allow. See heating()." + laserSafety,
		Example: heatedRod + `rod.power_limit(extinction=30*dB, waist=0.5*mm, radius=2*mm, wavelength=1064*nm)`,
		Source:  "see heating()",
	}, (*Element).powerLimit},
}

// lightOf reads what heats a rotator; the power is set by the caller.
func (e *Element) lightOf(t *starlark.Thread, a Args) (element.Light, error) {
	cut, err := cutOf(a)
	if err != nil {
		return element.Light{}, err
	}
	if _, film := e.part.(element.Rotator); film {
		if err := a.noneOf("is for a rod: thermal stress of a film is not modelled", "cut", "azimuth"); err != nil {
			return element.Light{}, err
		}
	}
	l := element.Light{Wavelength: a.Length("wavelength"), Waist: a.Length("waist"), Rim: a.Length("radius"),
		Temperature: a.Temperature("temperature"), Cut: cut}
	at := conditions{ctx: a.ctx, wavelengths: []quantity.Length{l.Wavelength},
		temperatures: []quantity.Temperature{l.Temperature}}
	return l, usedAt(t, element.FitOf(e.part), at)
}

func cutOf(a Args) (element.Cut, error) {
	c := element.Cut{Axis: a.Text("cut"), Turned: a.Has("azimuth"), Azimuth: a.Angle("azimuth")}
	if c.Turned && c.Axis != "001" {
		return c, errors.New(`azimuth= is for cut="001"; along [111] the stress acts alike in all directions`)
	}
	return c, nil
}

func (e *Element) heating(t *starlark.Thread, a Args) (starlark.Value, error) {
	l, err := e.lightOf(t, a)
	if err != nil {
		return nil, err
	}
	l.Power = a.SI("power")
	did, err := element.HeatingOf(e.part, l)
	if err != nil {
		return nil, err
	}
	h := &Heating{opaque: opaque{"heating"}, did: did, light: l}
	h.said = element.HeatCautions(e.part, did, l.Temperature)
	return h, nil
}

func (e *Element) powerLimit(t *starlark.Thread, a Args) (starlark.Value, error) {
	l, err := e.lightOf(t, a)
	if err != nil {
		return nil, err
	}
	within := element.Allowed{Peak: a.SI("peak_rise"), Drift: a.SI("drift")}
	if a.Has("extinction") {
		within.Crossed = 1 / (1 + quantity.Ratio(a.SI("extinction")))
	}
	if a.Has("lens_loss") {
		within.Lost = 1 - quantity.Ratio(-a.SI("lens_loss"))
	}
	if within == (element.Allowed{}) {
		return nil, errors.New("give a limit: extinction=, drift=, peak_rise= or lens_loss=")
	}
	p, err := element.PowerLimit(e.part, l, within)
	if err != nil {
		return nil, err
	}
	return Quantity{inWatts(p)}, nil
}

// heatedMethod makes a stack as its light has warmed it.
var heatedMethod = method[*Stack]{Word{
	Name:    "heated",
	Summary: "the stack while it carries optical power: its rotators as warm as the light makes them",
	Params: []Param{powerParam, rimParam, cutParam, azimuthParam,
		{Name: "effect", Kind: choice("most", "least"), Mode: Keyword, Default: starlark.String("most"),
			Doc: "end of the bands of the material's constants: that of the upper bounds, or the other"}},
	Returns: "a stack, realigned",
	Errors:  "the stack has no rotator, or the thermal conductivity of a material is unknown",
	Detail: "Each rotator receives all of the power, in one beam of the waist of the collimators: see heating() of a " +
		"rotator. The drift of the rotation and the depolarization act at every wavelength and temperature; a " +
		"thermal lens does not. Other elements stay cold. The isolation is lowest at the most or at the least " +
		"effect, or between them where the drift takes the film through its null." + laserSafety,
	Example: exampleStack + `s.heated(0.5*watt, radius=0.5*mm).backward(1550*nm).isolation`,
	Source:  "see heating() of a rotator",
}, func(s *Stack, _ *starlark.Thread, a Args) (starlark.Value, error) {
	cut, err := cutOf(a)
	if err != nil {
		return nil, err
	}
	warm, err := s.stack.Heated(a.SI("power"), a.Length("radius"), cut, a.Text("effect") == "most")
	if err != nil {
		return nil, err
	}
	return newStack(warm), nil
}}

// conductivityKind is a thermal conductivity.
var conductivityKind = amount("thermal conductivity", "watt/(metre*kelvin)", "4.5*watt/(metre*kelvin)",
	conducts.Dimension()).positive()

// conducts is W/(m K).
var conducts = func() quantity.Unit {
	mk, err := quantity.Mul(quantity.Of(1, "metre"), quantity.Of(1, "kelvin"))
	if err != nil {
		panic(err)
	}
	q, err := quantity.Div(quantity.Of(1, "watt"), mk)
	if err != nil {
		panic(err)
	}
	return q.Unit
}()

// thermalParams are the thermal constants that paramagnet() can be given.
var thermalParams = []string{"conductivity", "stress_constant", "photoelastic_ratio", "max_temperature"}

// warmed sets the thermal constants that a call gives, and names them; by is their source.
func warmed(a Args, w *material.Warming, by string) (given []string) {
	defer func() {
		if len(given) > 0 {
			w.Source = strings.TrimPrefix(w.Source+"; "+strings.Join(given, ", ")+" "+by, "; ")
		}
	}()

	has := func(name string) bool {
		if _, takes := a.param(name); !takes || !a.Has(name) {
			return false
		}
		given = append(given, name)
		return true
	}
	if has("conductivity") {
		w.Conductivity = material.Exactly(a.SI("conductivity"))
	}
	if has("stress_constant") {
		w.Birefringence = material.Exactly(math.Abs(a.SI("stress_constant")))
	}
	if has("photoelastic_ratio") {
		w.Shear = material.Exactly(math.Abs(a.SI("photoelastic_ratio")))
	}
	if has("max_temperature") {
		w.Greatest = a.Temperature("max_temperature")
	}
	if has("curie_temperature") {
		w.Curie = a.Temperature("curie_temperature")
	}
	if a.word.Name == "garnet" && has("dn_dt") { // a paramagnet's is that of its index
		w.Index = material.Exactly(a.SI("dn_dt"))
	}
	return given
}
