package element

import (
	"fmt"
	"math"

	"wedgework/optics/heat"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// Heat is what the light that a rotator absorbs does to it while it rotates light.
type Heat struct {
	Rise    quantity.Temperature // above the surroundings, mean over the beam, K
	Crossed float64              // share of the power that it puts across, beside that of the material
}

// adds returns the share across of a material and of the heat: light turned a further 90 deg by both is back.
func (h Heat) adds(crossed float64) float64 { return crossed + h.Crossed - 2*crossed*h.Crossed }

// Light is what heats a rotator.
type Light struct {
	Power       float64              // that comes to it, W
	Wavelength  quantity.Length      // in vacuum, m
	Waist       quantity.Length      // 1/e^2 intensity radius in it, m
	Rim         quantity.Length      // radius at which the part has the temperature of its mount, m
	Temperature quantity.Temperature // of the mount, K
	Cut         Cut                  // of a rod
}

// Cut is how a rod is cut from its crystal. The zero Cut is not known: any is then possible.
type Cut struct {
	Axis    string         // crystal direction along the beam: "001", "111"; "" where it is not known
	Turned  bool           // Azimuth is known, of a [001] cut
	Azimuth quantity.Angle // of the light halfway through the rod, from a crystal axis, rad
}

// Heating is what light does to a rotator that absorbs some of it, each figure from the least to the most that the
// bands of the material's constants allow: an upper bound is the most. See package heat for what is left out.
type Heating struct {
	Absorbed material.Band // W
	Rise     material.Band // mean over the beam, above the mount, K
	Peak     material.Band // on the axis, K
	Drift    material.Band // change of the rotation, rad, with its sign; the least is the smaller in size
	Crossed  material.Band // share of the power that leaves across the mean rotation by heat
	Stressed bool          // Crossed counts thermal stress; else only the rotation that varies across the beam
	Lensed   bool          // the two below are known
	Focus    material.Band // power of the thermal lens, 1/m; the least is the smaller in size
	Lost     material.Band // share of the power that the lens takes out of the beam's mode, not refocused
}

// warmed is a rotator that light can warm.
type warmed interface {
	Element
	absorber(l Light) (absorber, error)
}

// absorber is what heating is worked out from.
type absorber struct {
	warming  material.Warming
	length   float64                                          // m
	turn     func(rise quantity.Temperature) (float64, error) // rotation, rad
	index    float64
	bulge    float64 // (1 + Poisson's ratio) times the thermal expansion, 1/K; 0 where it is not known
	heatless string  // what to call it in errors
}

// poisson is Poisson's ratio of garnets (0.28 to 0.3, from memory).
const poisson = 0.3

func (r Rotator) absorber(l Light) (absorber, error) {
	d, err := r.Thickness()
	a := absorber{warming: r.Garnet.Warming, length: float64(d), index: r.Garnet.Index, heatless: r.called(),
		turn: func(rise quantity.Temperature) (float64, error) {
			r.Heat = Heat{Rise: rise}
			media := make([]Medium, 1)
			err := r.tune(l.Wavelength, l.Temperature, media)
			return media[0].Rotation, err
		}}
	a.warming.Absorption = material.Exactly(r.Garnet.Absorption)
	a.warming.Birefringence = material.Band{} // no film's is known
	return a, err
}

func (r Rod) absorber(l Light) (absorber, error) {
	n, err := r.Material.At(l.Wavelength, l.Temperature)
	alpha, _ := r.Material.Expansion()
	return absorber{warming: r.Material.Warming(), length: r.long(l.Temperature), index: n.N,
		bulge: (1 + poisson) * alpha, heatless: r.called(),
		turn: func(rise quantity.Temperature) (float64, error) {
			r.Heat = Heat{Rise: rise}
			return r.RotationAt(0, l.Wavelength, l.Temperature)
		}}, err
}

// HeatingOf returns what light does to a rotator that absorbs some of it. It is an error for another element, for a
// material whose thermal conductivity is not known, for a beam that does not fit its part, and outside the range of the
// material.
func HeatingOf(e Element, l Light) (Heating, error) {
	w, ok := e.(warmed)
	if !ok {
		return Heating{}, fmt.Errorf("%s is no rotator: how light heats it is not modelled", e.Label())
	}
	a, err := w.absorber(l)
	if err != nil {
		return Heating{}, err
	}
	if !a.warming.Conductivity.Known() {
		return Heating{}, fmt.Errorf("%s: the thermal conductivity of its material is not known: state conductivity=",
			a.heatless)
	}
	least, err := a.end(l, func(b material.Band) float64 { return b.Least }, false)
	if err != nil {
		return Heating{}, err
	}
	most, err := a.end(l, func(b material.Band) float64 { return b.Most }, true)
	if err != nil {
		return Heating{}, err
	}
	span := func(of func(*ending) float64) material.Band { return material.Band{Least: of(&least), Most: of(&most)} }
	return Heating{
		Absorbed: span(func(e *ending) float64 { return e.absorbed }), Rise: span(func(e *ending) float64 { return e.rise }),
		Peak: span(func(e *ending) float64 { return e.peak }), Drift: span(func(e *ending) float64 { return e.drift }),
		Crossed: span(func(e *ending) float64 { return e.crossed }), Stressed: a.stressed(), Lensed: a.warming.Index.Known(),
		Focus: span(func(e *ending) float64 { return e.focus }), Lost: span(func(e *ending) float64 { return e.lost }),
	}, nil
}

// stressed reports whether the photoelastic constants are known.
func (a *absorber) stressed() bool { return a.warming.Birefringence.Known() && a.warming.Shear.Known() }

// ending is the heating at one end of the bands.
type ending struct{ absorbed, rise, peak, drift, crossed, focus, lost float64 }

// end works out the heating with the constants at one end of their bands: what warms most is the most absorption and
// the least conductivity.
func (a *absorber) end(l Light, pick func(material.Band) float64, most bool) (e ending, err error) {
	w := &a.warming
	conducts := w.Conductivity.Least
	if !most {
		conducts = w.Conductivity.Most
	}
	e.absorbed = l.Power * heat.Absorbed(pick(w.Absorption), a.length)
	load := heat.Load{Power: e.absorbed, Length: a.length, Waist: float64(l.Waist), Rim: float64(l.Rim),
		Conductivity: conducts}
	if err := load.Check(); err != nil {
		return e, fmt.Errorf("%s: %w", a.heatless, err)
	}
	e.rise, e.peak = load.Mean(), load.Peak()
	cold, err := a.turn(0)
	if err != nil {
		return e, err
	}
	warm, err := a.turn(quantity.Temperature(e.rise))
	if err != nil {
		return e, err
	}
	e.drift = warm - cold
	r := heat.Rotator{Rotation: warm}
	if e.rise > 0 {
		r.Spread = e.drift / e.rise * load.Scale()
	}
	if a.stressed() {
		r.Phase = heat.Phase(l.Power, pick(w.Absorption), a.length, float64(l.Wavelength), pick(w.Birefringence), conducts)
		r.Shear = pick(w.Shear)
	}
	e.crossed = l.Cut.crossed(r, most)
	slope := w.Index.Least
	if bulged := w.Index.Most + (a.index-1)*a.bulge; (math.Abs(bulged) > math.Abs(slope)) == most {
		slope = bulged
	}
	e.focus, e.lost = load.Focus(slope), 1-load.Coupled(slope, float64(l.Wavelength))
	return e, nil
}

// crossed is the share across of a cut, or of the best or the worst where the cut or its azimuth is not known: along
// [001] with the light halfway through at 45 deg to the crystal axes or along them, between which [111] lies.
func (c Cut) crossed(r heat.Rotator, most bool) float64 {
	switch {
	case c.Axis == "111":
		return r.Along111().Crossed()
	case c.Turned:
		r.Azimuth = float64(c.Azimuth)
		return r.Crossed()
	}
	along := r.Crossed()
	r.Azimuth = math.Pi / 4
	across := r.Crossed()
	if most {
		return max(along, across)
	}
	return min(along, across)
}

// Heated returns a rotator as light has warmed it: at the least or the most of its heating.
func Heated(e Element, l Light, most bool) (Element, error) {
	h, err := HeatingOf(e, l)
	if err != nil {
		return nil, err
	}
	of := Heat{Rise: quantity.Temperature(h.Rise.Least), Crossed: h.Crossed.Least}
	if most {
		of = Heat{Rise: quantity.Temperature(h.Rise.Most), Crossed: h.Crossed.Most}
	}
	switch r := e.(type) {
	case Rotator:
		r.Heat = of
		return r, nil
	case Rod:
		r.Heat = of
		return r, nil
	}
	return e, nil
}

// Allowed is what heating may do at most; zero figures are no limit.
type Allowed struct {
	Crossed float64 // share of the power across
	Peak    float64 // rise on the axis, K
	Drift   float64 // change of the rotation in size, rad
	Lost    float64 // share that the thermal lens takes out of the beam's mode
}

// Allows reports whether heating stays within, at its most.
func (w Allowed) Allows(h Heating) bool {
	within := func(limit, most float64) bool { return limit == 0 || math.Abs(most) <= limit }
	return within(w.Crossed, h.Crossed.Most) && within(w.Peak, h.Peak.Most) && within(w.Drift, h.Drift.Most) &&
		within(w.Lost, h.Lost.Most)
}

// PowerLimit returns the most power, in W, at which heating stays within what is allowed at the most of its bands, to
// 1e-6 of itself: every figure grows with the power. It is an error where no power up to 1 MW is too much, or where a
// limit is on a figure that is not known.
func PowerLimit(e Element, l Light, within Allowed) (float64, error) {
	const most = 1e6
	l.Power = 0
	h, err := HeatingOf(e, l)
	if err != nil {
		return 0, err
	}
	if within.Lost > 0 && !h.Lensed {
		return 0, fmt.Errorf("%s: dn/dT of its material is not known, and so no thermal lens: state dn_dt=", e.Label())
	}
	allows := func(power float64) bool {
		l.Power = power
		h, err := HeatingOf(e, l)
		return err == nil && within.Allows(h) // an error is a temperature that the material does not stand
	}
	if allows(most) {
		return 0, fmt.Errorf("%s: even %g W are within the limits: it absorbs nothing, or no limit is given",
			e.Label(), float64(most))
	}
	low, high := 1e-9, float64(most)
	if !allows(low) {
		return 0, fmt.Errorf("%s: no power is within the limits", e.Label())
	}
	for high/low > 1+1e-6 {
		middle := math.Sqrt(low * high)
		if allows(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return low, nil
}

// HeatCautions says in sentences where light makes a rotator warmer than its material, on the axis and at the most, may
// be at a temperature of its mount, and where it is warmed by so much that constants at the mount's temperature do not
// hold.
func HeatCautions(e Element, h Heating, t quantity.Temperature) []string {
	var all []string
	hottest := t + quantity.Temperature(h.Peak.Most)
	said := ""
	switch r := e.(type) {
	case Rotator:
		said = r.Garnet.TooHot(hottest)
	case Rod:
		said = r.Material.TooHot(hottest)
	}
	if said != "" {
		all = append(all, said)
	}
	if h.Peak.Most > steep {
		all = append(all, fmt.Sprintf("the bound of the temperature rise is %.3g kelvin: the constants are those at the "+
			"temperature of the mount, which no longer holds so far above it", h.Peak.Most))
	}
	return all
}

// steep is a rise, in K, over which conductivity and absorption change by a tenth or more (a choice).
const steep = 50
