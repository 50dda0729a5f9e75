package element

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
)

// The magnets around a rotator. Their Position is relative to the part's centre, so that the part is the origin of the
// field.

// Surroundings is what acts on a rotator from outside.
type Surroundings struct {
	// Magnets are around the part, their Position relative to its centre; none: a film is saturated by means not
	// stated. Neighbours are those of other parts, which a stack fills in.
	Magnets, Neighbours magnet.Assembly
	// Stray is the flux density of fields from outside the device along its axis, of either sign, at most, T: what a
	// latching film must stand.
	Stray float64
	Heat  Heat // of the light that it absorbs
}

// magnetFields are the adjustable numbers of a ring, among those of the part it drives; of several rings each has its
// number behind the name, "remanence2".
var magnetFields = []field[magnet.Ring]{
	{"remanence", "tesla", func(m *magnet.Ring) *float64 { return &m.Remanence }},
	{"magnet_position", "mm", func(m *magnet.Ring) *float64 { return (*float64)(&m.Position) }},
}

// magnetParameters lists the numbers of all rings.
func magnetParameters(rings magnet.Assembly) []Parameter {
	var all []Parameter
	for i := range rings {
		ps := parameters(&rings[i], magnetFields)
		for k := range ps {
			if len(rings) > 1 {
				ps[k].Path += strconv.Itoa(i + 1)
			}
		}
		all = append(all, ps...)
	}
	return all
}

// ringOf returns the index of the ring that a parameter belongs to and what it is called there; -1 for one that is no
// ring's.
func ringOf(rings magnet.Assembly, name string) (ring int, of string) {
	for i := range rings {
		number := ""
		if len(rings) > 1 {
			number = strconv.Itoa(i + 1)
		}
		for _, f := range magnetFields {
			if f.name+number == name {
				return i, f.name
			}
		}
	}
	return -1, ""
}

// adjusted returns a copy of the rings with one number of one of them changed.
func adjusted(rings magnet.Assembly, ring int, label, name string, v quantity.Quantity) (magnet.Assembly, error) {
	rings = slices.Clone(rings)
	return rings, set(&rings[ring], magnetFields, label, name, v)
}

// around returns all rings whose field acts on a part.
func around(own, others magnet.Assembly) magnet.Assembly {
	if len(others) == 0 {
		return own
	}
	return append(slices.Clone(own), others...)
}

// WithNeighbours returns an element that stands in the field of the magnets of other parts too, their Position
// relative to the element's centre; one without magnets of its own is left as it is, for its field is stated otherwise,
// but for a latching film, which they can reverse.
func WithNeighbours(e Element, others magnet.Assembly) Element {
	switch r := e.(type) {
	case Rotator:
		if len(r.Magnets) > 0 || r.latched() {
			r.Neighbours = others
		}
		return r
	case Rod:
		if len(r.Magnets) > 0 {
			r.Neighbours = others
		}
		return r
	}
	return e
}

// MagnetsOf returns the magnets around an element, from its centre; nil for one without.
func MagnetsOf(e Element) magnet.Assembly {
	switch e := e.(type) {
	case Rotator:
		return e.Magnets
	case Rod:
		return e.Magnets
	}
	return nil
}

// FieldAt returns the flux density along +z, in T, at an element's centre: of its magnets and their neighbours, or the
// uniform one of a rod; zero without either, and where heat has left the magnet no remanence. t is in kelvin.
func FieldAt(e Element, t quantity.Temperature) float64 {
	var rings magnet.Assembly
	switch e := e.(type) {
	case Rotator:
		rings = around(e.Magnets, e.Neighbours)
	case Rod:
		if len(e.Magnets) == 0 {
			return e.Field
		}
		rings = around(e.Magnets, e.Neighbours)
	}
	b, err := rings.OnAxis(0, t)
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
	if math.IsNaN(r.Stray) || math.Abs(r.Stray) > 10 {
		return fmt.Errorf("rotator %s: stray field %g mT must lie within ±10 T", r.Name, r.Stray*1e3)
	}
	if !(r.Footprint >= 0) {
		return fmt.Errorf("rotator %s: footprint %g mm must not be negative", r.Name, float64(r.Footprint)*1e3)
	}
	if len(r.Magnets) == 0 {
		return nil
	}
	if err := r.Magnets.Check(); err != nil {
		return fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	b, err := r.Magnets.OnAxis(0, r.Temperature)
	if err != nil {
		return fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	if r.Angle != 0 && r.sense(b) != math.Copysign(1, float64(r.Angle)) {
		return fmt.Errorf("rotator %s: its angle %+.6g deg contradicts the magnet, whose field at the film is %+.4g "+
			"mT (in the bore it runs against the magnetization): turn the magnet round, with remanence=%+.4g tesla, "+
			"or state the angle as %+.6g deg",
			r.Name, float64(r.Angle/quantity.Degree), b*1e3, -r.Magnets[0].Remanence, float64(-r.Angle/quantity.Degree))
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
	if len(r.Magnets) > 0 {
		if b, err = r.Magnets.OnAxis(0, r.Temperature); err != nil {
			return r, fmt.Errorf("rotator %s: %w", r.Name, err)
		}
	}
	r.Angle = quantity.Angle(float64(d/perRadian) * r.sense(b))
	return r, nil
}

// saturated returns the share of the saturated film's rotation that the film has at a temperature: below saturation
// it grows in proportion to the field at the film's centre, |B|/Bsat (common practice, no source). A film whose
// saturating field is not stated is taken as saturated. The share is negative where neighbours turn the field round
// that the film's own magnets give it.
func (r *Rotator) saturated(t quantity.Temperature) (float64, error) {
	if r.latched() {
		return r.latch(t)
	}
	if len(r.Magnets) == 0 {
		return 1, nil
	}
	own, err := r.Magnets.OnAxis(0, t)
	if err != nil {
		return 0, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	others, err := r.Neighbours.OnAxis(0, t)
	if err != nil {
		return 0, fmt.Errorf("rotator %s: neighbouring magnets: %w", r.Name, err)
	}
	share := 1.0
	if r.Garnet.Saturation > 0 {
		share = min(1, math.Abs(own+others)/r.Garnet.Saturation)
	}
	if own*(own+others) < 0 {
		share = -share
	}
	return share, nil
}

// Margin returns how far the magnet saturates the film at a temperature in kelvin, over the footprint and through its
// thickness: the least |Bz| over the saturating flux density. Of a latching film without a magnet it is the coercivity
// over the external flux density that could reverse it. It is an error for a film without a magnet or without a
// saturating field, and where the footprint reaches into the magnet.
func (r Rotator) Margin(t quantity.Temperature) (magnet.Margin, error) {
	switch {
	case r.latched():
		return r.latchMargin(t)
	case len(r.Magnets) == 0:
		return magnet.Margin{}, fmt.Errorf("rotator %s: it has no magnet, and so no margin", r.Name)
	case r.Garnet.Saturation == 0:
		return magnet.Margin{}, fmt.Errorf("rotator %s: the field that saturates %s is not stated", r.Name,
			r.Garnet.Name)
	}
	d, err := r.Thickness()
	if err != nil {
		return magnet.Margin{}, err
	}
	m, err := around(r.Magnets, r.Neighbours).Margin(magnet.Film{Radius: r.footprint(), From: -d / 2, To: d / 2,
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
	if said := r.Garnet.TooHot(t + r.Heat.Rise); said != "" {
		all = append(all, said)
	}
	all = append(all, r.Magnets.TooHot(t)...)
	all = append(all, r.unlatched(t)...)
	return append(all, r.unsaturated(t)...)
}

// unsaturated says where the magnet does not saturate the film at a temperature.
func (r Rotator) unsaturated(t quantity.Temperature) []string {
	if len(r.Magnets) == 0 {
		return nil
	}
	if r.Garnet.Saturation == 0 {
		return []string{fmt.Sprintf("%s: the field that saturates %s is not stated, so the film is taken as "+
			"saturated and the magnet's margin is not known", r.called(), r.Garnet.Name)}
	}
	m, err := r.Margin(t)
	switch {
	case err != nil:
		return []string{err.Error()}
	case m.Ratio < 1:
		return []string{fmt.Sprintf("%s is not saturated throughout at %.4g °C: the field in it falls to %.4g mT "+
			"where %.4g mT are needed",
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

// Depolarizes reports whether an element is a rotator that leaves some of the light across: of a finite extinction ratio,
// or warmed by light.
func Depolarizes(e Element) bool {
	switch r := e.(type) {
	case Rotator:
		return r.Heat.adds(r.Garnet.Crossed()) > 0
	case Rod:
		return r.Heat.adds(r.Material.Crossed()) > 0
	}
	return false
}
