package element

import (
	"fmt"
	"math"
	"slices"

	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
)

// The magnet around a rotator. Its Position is relative to the part's centre, so that the part is the origin of the
// magnet's field.

// magnetFields are the adjustable numbers of a magnet, among those of the part it drives.
var magnetFields = []field[magnet.Ring]{
	{"remanence", "tesla", func(m *magnet.Ring) *float64 { return &m.Remanence }},
	{"magnet_position", "mm", func(m *magnet.Ring) *float64 { return (*float64)(&m.Position) }},
}

// ofMagnet reports whether a parameter of a part is one of its magnet's.
func ofMagnet(name string) bool {
	return slices.ContainsFunc(magnetFields, func(f field[magnet.Ring]) bool { return f.name == name })
}

// adjusted returns a copy of a magnet with one number changed.
func adjusted(m *magnet.Ring, label, name string, v quantity.Quantity) (*magnet.Ring, error) {
	c := *m
	return &c, set(&c, magnetFields, label, name, v)
}

// FieldAt returns the flux density along +z, in T, at an element's centre: of its magnet, or the uniform one of a rod;
// zero without either, and where heat has left the magnet no remanence. t is in kelvin.
func FieldAt(e Element, t quantity.Temperature) float64 {
	var m *magnet.Ring
	switch e := e.(type) {
	case Rotator:
		m = e.Magnet
	case Rod:
		if e.Magnet == nil {
			return e.Field
		}
		m = e.Magnet
	}
	if m == nil {
		return 0
	}
	b, err := m.OnAxis(0, t)
	if err != nil {
		return 0 // heat has left no remanence
	}
	return b
}

// usualFootprint is the radius about the axis over which a film must be saturated when neither its Footprint nor its
// clear aperture is stated: 0.3 mm holds a collimated beam of the usual waist with its offset (a choice).
const usualFootprint = 0.3 * quantity.Millimetre

// footprint returns the radius over which the film must be saturated.
func (r Rotator) footprint() quantity.Length {
	switch {
	case r.Footprint > 0:
		return r.Footprint
	case r.Aperture > 0:
		return r.Aperture
	}
	return usualFootprint
}

// checkField reports a magnet that cannot be, or whose field contradicts the sign of the film's angle: the rotation
// has the sign of the film's own, times that of Bz at the film.
func (r *Rotator) checkField() error {
	if !(r.Footprint >= 0) {
		return fmt.Errorf("rotator %s: footprint %g mm must not be negative", r.Name, float64(r.Footprint)*1e3)
	}
	if r.Magnet == nil {
		return nil
	}
	if err := r.Magnet.Check(); err != nil {
		return fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	b, err := r.Magnet.OnAxis(0, r.Temperature)
	if err != nil {
		return fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	if r.Angle != 0 && r.sense(b) != math.Copysign(1, float64(r.Angle)) {
		return fmt.Errorf("rotator %s: its angle %+.6g deg contradicts the magnet, whose field at the film is %+.4g "+
			"mT "+
			"(in the bore it runs against the magnetization): turn the magnet round, with remanence=%+.4g tesla, or "+
			"state "+
			"the angle as %+.6g deg",
			r.Name, float64(r.Angle/quantity.Degree), b*1e3, -r.Magnet.Remanence, float64(-r.Angle/quantity.Degree))
	}
	return nil
}

// sense is the sign of the rotation in a field b along +z.
func (r Rotator) sense(b float64) float64 {
	return math.Copysign(1, r.Garnet.Rotation) * math.Copysign(1, b)
}

// OfThickness returns the rotator as a film of a thickness in metres, above 0, in place of an angle: the angle
// follows from the garnet's specific rotation at At and Temperature, with the sign that garnet and magnet give it;
// without a magnet, that of a field along +z.
func (r Rotator) OfThickness(d quantity.Length) (Rotator, error) {
	if !(d > 0) {
		return r, fmt.Errorf("rotator %s: thickness %g mm must be positive", r.Name, float64(d)*1e3)
	}
	// A thickness is in proportion to its angle, and the garnet knows that of one radian.
	perRadian, err := r.Garnet.Thickness(1, r.At, r.Temperature)
	if err != nil {
		return r, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	b := 1.0
	if r.Magnet != nil {
		if b, err = r.Magnet.OnAxis(0, r.Temperature); err != nil {
			return r, fmt.Errorf("rotator %s: %w", r.Name, err)
		}
	}
	r.Angle = quantity.Angle(float64(d/perRadian) * r.sense(b))
	return r, nil
}

// saturated returns the share of the saturated film's rotation that the film has at a temperature: below saturation
// it grows in proportion to the field at the film's centre, |B|/Bsat (common practice, no source). A film whose
// saturating field is not stated is taken as saturated.
func (r *Rotator) saturated(t quantity.Temperature) (float64, error) {
	if r.Magnet == nil || r.Garnet.Saturation == 0 {
		return 1, nil
	}
	b, err := r.Magnet.OnAxis(0, t)
	if err != nil {
		return 0, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	return min(1, math.Abs(b)/r.Garnet.Saturation), nil
}

// Margin returns how far the magnet saturates the film at a temperature in kelvin, over the footprint and through its
// thickness: the least |Bz| over the saturating flux density. It is an error for a film without a magnet or without a
// saturating field, and where the footprint reaches into the magnet.
func (r Rotator) Margin(t quantity.Temperature) (magnet.Margin, error) {
	switch {
	case r.Magnet == nil:
		return magnet.Margin{}, fmt.Errorf("rotator %s: it has no magnet, and so no margin", r.Name)
	case r.Garnet.Saturation == 0:
		return magnet.Margin{}, fmt.Errorf("rotator %s: the field that saturates %s is not stated", r.Name,
			r.Garnet.Name)
	}
	d, err := r.Thickness()
	if err != nil {
		return magnet.Margin{}, err
	}
	m, err := r.Magnet.Margin(magnet.Film{Radius: r.footprint(), From: -d / 2, To: d / 2,
		Saturation: r.Garnet.Saturation},
		t)
	if err != nil {
		return m, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	return m, nil
}

// Cautions says in plain sentences, at a temperature in kelvin, where the wavelength of the film's angle is far from
// its garnet's data, and where its magnet does not saturate it over the whole footprint.
func (r Rotator) Cautions(t quantity.Temperature) []string {
	var all []string
	if said := r.Garnet.Warning(r.At); said != "" {
		all = append(all, said)
	}
	return append(all, r.unsaturated(t)...)
}

// unsaturated says where the magnet does not saturate the film at a temperature.
func (r Rotator) unsaturated(t quantity.Temperature) []string {
	if r.Magnet == nil {
		return nil
	}
	if r.Garnet.Saturation == 0 {
		return []string{fmt.Sprintf("%s: the field that saturates %s is not stated, so the film is taken as saturated "+
			"and the magnet's margin is not known", r.called(), r.Garnet.Name)}
	}
	m, err := r.Margin(t)
	switch {
	case err != nil:
		return []string{err.Error()}
	case m.Ratio < 1:
		return []string{fmt.Sprintf("%s is not saturated throughout at %.4g °C: the field in it falls to %.4g mT "+
			"where "+
			"%.4g mT are needed",
			r.called(), t.Celsius(), m.Least*1e3, r.Garnet.Saturation*1e3)}
	}
	return nil
}

// called is what a sentence calls the film.
func (r Rotator) called() string {
	if r.Name == "" {
		return "the film"
	}
	return r.Name
}
