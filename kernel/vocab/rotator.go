package vocab

import (
	"math"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
)

// The methods of a rotator: what its magnets do to it.

// driven is a rotator in magnets, whose margin they leave.
type driven interface {
	Margin(t quantity.Temperature) (magnet.Margin, error)
}

var rotatorMethods = newMethods("rotator", append([]method[*Element]{
	{Word{
		Name: "margin",
		Summary: "margin of the magnets: of a film, minimum flux density in it over the flux density that saturates " +
			"it; of a rod, minimum over that at its centre; of a latching film without a magnet, coercivity over the " +
			"external flux density that opposes it",
		Params: []Param{temperatureParam},
		Returns: "a plain number, or a series over a temperature grid; a film is saturated throughout above 1; a rod " +
			"has 1 at most, and 0 where the field changes sign within it; a latching film keeps its rotation above 1",
		Errors: "the rotator has no magnet, the saturation flux density of the garnet is unknown, or the footprint " +
			"reaches into a magnet",
		Detail: "The minimum is taken through the thickness of the film or the length of the rod, over a radius of " +
			"footprint=; if omitted, aperture=; if both are omitted, 0.3 mm. In a stack the magnets of the other " +
			"rotators count too: see .elements of the stack. On a latching film act the magnets of the other rotators, " +
			"where they oppose its magnetization, and stray= at its worst.",
		Example: `ring = magnet(inner=0.75*mm, outer=1.5*mm, length=2*mm, remanence=-1.0*tesla, material="Sm2Co17")
rotator(garnet("Bi:RIG"), field=ring).margin(70*degC)`,
		Source: "field of a ring magnet off its axis by complete elliptic integrals: N. Derby and S. Olbert, Am. J. " +
			"Phys. 78, 229 (2010)",
	}, (*Element).margin},
	{Word{
		Name: "rotation",
		Summary: "rotation of the polarization by the rotator, from +x towards +y, the same for both directions of " +
			"light",
		Params: []Param{wavelengthParam, temperatureParam,
			{Name: "off_axis", Kind: lengthKind.notNegative(), Mode: Keyword, Default: of(0, "mm"),
				Doc: "distance of the ray from the axis of a rod"}},
		Returns: "an angle, a series over a sweep, or a grid over two",
		Errors: "the wavelength is outside the range of the material, or off_axis= is given for a film, which " +
			"rotates alike across its face",
		Example: `rotator(paramagnet("TGG"), length=10*mm, field=1.2*tesla).rotation(1064*nm)`,
		Source: "of a film: its angle with the coefficients of the garnet, and below saturation in proportion to the " +
			"field; of a rod: Verdet constant times the integral of Bz along the ray",
	}, (*Element).rotation},
	{Word{
		Name: "extinction_ratio",
		Summary: "extinction ratio behind the rotator for linear light in a Gaussian beam: of the material, and of " +
			"the rotation that varies across a rod in ring magnets",
		Params: []Param{
			{Name: "waist", Kind: lengthKind.of("length", "0.5*mm").positive(),
				Doc: "beam radius at 1/e² of the intensity"},
			wavelengthParam, temperatureParam},
		Returns: "Pmax/Pmin in dB, a series over a sweep, or a grid over two; 120 dB and more counts as perfect " +
			"(infinite)",
		Errors:  "the wavelength is outside the range of the material",
		Example: `rotator(paramagnet("TGG"), length=10*mm, field=1.2*tesla).extinction_ratio(0.5*mm, 1064*nm)`,
		Source: "mean of the Stokes vector over the intensity of the beam, each ray rotated by the integral of Bz " +
			"along it; a beam wider than aperture= is cut off there",
	}, (*Element).extinctionRatio},
}, heatingMethods...)...)

// rotatorAt reads the conditions of a method of a rotator, and cautions about its material there.
func (e *Element) rotatorAt(thread *starlark.Thread, a Args) (conditions, error) {
	at, err := conditionsOf(a)
	if err != nil {
		return at, err
	}
	return at, usedAt(thread, element.FitOf(e.part), at)
}

func (e *Element) margin(thread *starlark.Thread, a Args) (starlark.Value, error) {
	if err := farFromRoom(thread, a.temperatures()...); err != nil {
		return nil, err
	}
	return a.overTemperature("margin", quantity.Unit{}, func(t quantity.Temperature) (float64, error) {
		m, err := e.part.(driven).Margin(t)
		if err != nil {
			return 0, unnamed(e.part, err)
		}
		return m.Ratio, nil
	})
}

// temperatures are those of temperature= of a call, one or a sweep.
func (a Args) temperatures() (all []quantity.Temperature) {
	_, ts := points(a.Get("temperature"))
	for _, t := range ts {
		all = append(all, quantity.Temperature(t))
	}
	return all
}

// overTemperature computes at temperature= of a call what no wavelength has to do with.
func (a Args) overTemperature(name string, unit quantity.Unit, f func(quantity.Temperature) (float64, error)) (
	starlark.Value, error) {
	at := conditions{ctx: a.ctx, wavelengths: make([]quantity.Length, 1), temperatures: a.temperatures()}
	at.overT, _ = points(a.Get("temperature"))
	return at.each(name, unit, func(t, _ int) (float64, error) { return f(at.temperatures[t]) })
}

func (e *Element) rotation(thread *starlark.Thread, a Args) (starlark.Value, error) {
	at, err := e.rotatorAt(thread, a)
	if err != nil {
		return nil, err
	}
	off := a.Length("off_axis")
	rod, isRod := e.part.(element.Rod)
	if !isRod {
		if err := a.noneOf("is for a rod: a film rotates alike across its face", "off_axis"); err != nil {
			return nil, err
		}
	}
	return at.each("rotation", degree, func(t, l int) (float64, error) {
		if isRod {
			return rod.RotationAt(off, at.wavelengths[l], at.temperatures[t])
		}
		media := e.part.Place(at.temperatures[t]).Media
		if err := e.part.Tune(at.wavelengths[l], at.temperatures[t], media); err != nil {
			return 0, err
		}
		return media[0].Rotation, nil
	})
}

func (e *Element) extinctionRatio(thread *starlark.Thread, a Args) (starlark.Value, error) {
	at, err := e.rotatorAt(thread, a)
	if err != nil {
		return nil, err
	}
	return at.each("extinction ratio", decibel, func(t, l int) (float64, error) {
		ratio := math.Inf(1)
		switch r := e.part.(type) {
		case element.Rod:
			if ratio, err = r.Extinction(a.Length("waist"), at.wavelengths[l], at.temperatures[t]); err != nil {
				return 0, err
			}
		case element.Rotator:
			ratio = r.Garnet.Extinction
		}
		return quantity.Decibels(ratio), nil
	})
}
