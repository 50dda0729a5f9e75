package element

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/magnet"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// footprint is the radius about the axis over which a film must be saturated when the film has no clear aperture:
// 0.3 mm holds a collimated beam of the usual waist with its offset (a choice).
const footprint = 0.3e-3

// checkField reports a magnet that cannot be, or whose field contradicts the sign of the film's angle: the rotation
// has the sign of the film's own, times that of Bz at the film.
func (r Rotator) checkField() error {
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
	sign := math.Copysign(1, r.Garnet.Rotation) * math.Copysign(1, b)
	if r.Angle != 0 && sign != math.Copysign(1, float64(r.Angle)) {
		return fmt.Errorf("rotator %s: its angle %+.6g deg contradicts the magnet, whose field at the film is %+.4g mT (in the bore it runs against the magnetization): turn the magnet round, with remanence=%+.4g tesla, or state the angle as %+.6g deg",
			r.Name, float64(r.Angle/quantity.Degree), b*1e3, -r.Magnet.Remanence, float64(-r.Angle/quantity.Degree))
	}
	return nil
}

// saturated returns by how much the film's rotation is that of the saturated film: below saturation it grows with
// the field (common practice, no source). A film whose saturating field is not stated is taken as saturated.
func (r Rotator) saturated(t quantity.Temperature) (float64, error) {
	if r.Magnet == nil || r.Garnet.Saturation == 0 {
		return 1, nil
	}
	b, err := r.Magnet.OnAxis(0, t)
	if err != nil {
		return 0, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	return min(1, math.Abs(b)/r.Garnet.Saturation), nil
}

// Cautions tells where the magnet does not saturate the film at a temperature, over the whole beam.
func (r Rotator) Cautions(t quantity.Temperature) []string {
	if r.Magnet == nil {
		return nil
	}
	if r.Garnet.Saturation == 0 {
		return []string{fmt.Sprintf("%s: the field that saturates %s is not stated, so the magnet's margin is not known", r.Name, r.Garnet.Name)}
	}
	d, err := r.Thickness()
	if err != nil {
		return nil // Check has seen that there is one
	}
	radius := max(float64(r.Aperture), 0)
	if radius == 0 {
		radius = footprint
	}
	m, err := r.Magnet.Margin(magnet.Film{Radius: quantity.Length(radius), From: -d / 2, To: d / 2, Saturation: r.Garnet.Saturation}, t)
	switch {
	case err != nil:
		return []string{fmt.Sprintf("%s: %v", r.Name, err)}
	case m.Ratio < 1:
		return []string{fmt.Sprintf("%s is not saturated at %.4g °C: the field in it falls to %.4g mT where %.4g mT are needed", r.Name, t.Celsius(), m.Least*1e3, r.Garnet.Saturation*1e3)}
	}
	return nil
}

// Rod is a paramagnetic Faraday rotator: a rod in a magnet's field, or in a uniform one. Its rotation is the integral
// of Verdet constant times Bz along the axis.
type Rod struct {
	Name     string
	Material *material.Paramagnet
	Coating  Coating
	Length   quantity.Length
	Field    float64         // uniform flux density along +z, T; when there is no magnet
	Magnet   *magnet.Ring    // its Position is relative to the rod's centre
	Aperture quantity.Length // radius of the clear aperture; 0 when it is wide enough
}

var rodFields = []field[Rod]{
	{"length", "mm", func(r *Rod) *float64 { return (*float64)(&r.Length) }},
	{"reflectance", "percent", func(r *Rod) *float64 { return &r.Coating.Reflectance }},
	{"field", "mT", func(r *Rod) *float64 { return &r.Field }},
}

// Kind returns "rotator".
func (Rod) Kind() string { return "rotator" }

// Label returns the rod's name.
func (r Rod) Label() string { return r.Name }

// Labelled returns a copy with another name.
func (r Rod) Labelled(label string) Element { r.Name = label; return r }

// Rolled returns the same rod: it looks alike from every side.
func (r Rod) Rolled(quantity.Angle) Element { return r }

// Parameters lists length, reflectance, and the uniform field or the magnet's remanence.
func (r Rod) Parameters() []Parameter {
	if r.Magnet == nil {
		return parameters(&r, rodFields)
	}
	return append(parameters(&r, rodFields[:2]), remanence(r.Magnet))
}

// With returns a copy with one parameter changed.
func (r Rod) With(name string, v quantity.Quantity) (Element, error) {
	var err error
	if name == "remanence" && r.Magnet != nil {
		r.Magnet, err = withRemanence(r.Name, r.Magnet, v)
	} else {
		err = set(&r, rodFields, r.Name, name, v)
	}
	if err != nil {
		return nil, err
	}
	return r, r.Check()
}

// remanence is the adjustable number of a magnet.
func remanence(m *magnet.Ring) Parameter {
	return Parameter{"remanence", quantity.FromSI(m.Remanence, quantity.MustNamed("tesla"))}
}

// withRemanence returns a magnet of another remanence.
func withRemanence(label string, m *magnet.Ring, v quantity.Quantity) (*magnet.Ring, error) {
	if v.Dimension() != quantity.OfFluxDensity {
		return nil, fmt.Errorf("%s.remanence must be given as a flux density, such as 1.05 T, not %s", label, v)
	}
	c := *m
	c.Remanence = v.SI()
	return &c, nil
}

// Check reports a rod that cannot be made.
func (r Rod) Check() error {
	switch {
	case r.Material == nil:
		return fmt.Errorf("rotator %s has no material", r.Name)
	case !(r.Length > 0):
		return fmt.Errorf("rotator %s: length %g mm must be positive", r.Name, float64(r.Length)*1e3)
	case r.Magnet != nil && r.Field != 0:
		return fmt.Errorf("rotator %s: give a magnet or a uniform field, not both", r.Name)
	case r.Magnet != nil:
		if err := r.Magnet.Check(); err != nil {
			return fmt.Errorf("rotator %s: %w", r.Name, err)
		}
	}
	if err := r.Coating.Check(); err != nil {
		return fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	_, err := r.drive(fabricated)
	return err
}

// drive returns the integral of Bz along the rod's axis, in T m.
func (r Rod) drive(t quantity.Temperature) (float64, error) {
	if r.Magnet == nil {
		return r.Field * float64(r.Length), nil
	}
	half := float64(r.Length) / 2
	bl, err := r.Magnet.Integral(r3.Vec{Z: -half}, r3.Vec{Z: half}, t)
	if err != nil {
		return 0, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	return bl, nil
}

// Place lays out the two parallel faces, and works out what the field does at a temperature.
func (r Rod) Place(t quantity.Temperature) Part {
	alpha, _ := r.Material.Expansion()
	long := float64(r.Length) * (1 + alpha*float64(t-fabricated))
	drive, _ := r.drive(t) // Check has seen that the magnet is one
	side := Face{Normal: r3.Vec{Z: 1}, Aperture: float64(r.Aperture)}
	front := r.Coating.onto(side, true)
	side.Z = long
	return Part{
		Faces:  []Face{front, r.Coating.onto(side, false)},
		Media:  []Medium{{Drive: drive}},
		Length: long,
	}
}

// Tune sets index and rotation.
func (r Rod) Tune(l quantity.Length, t quantity.Temperature, media []Medium) error {
	n, err := r.Material.At(l, t)
	if err != nil {
		return fmt.Errorf("%s: %w", r.Name, err)
	}
	v, err := r.Material.Verdet(l, t)
	if err != nil {
		return fmt.Errorf("%s: %w", r.Name, err)
	}
	m := &media[0]
	*m = Medium{Index: n.N, Group: n.Group, Rotation: v * m.Drive, Drive: m.Drive,
		Crossed: r.Material.Crossed(), Absorption: r.Material.Absorption()}
	return nil
}

// FieldAt returns the flux density along +z, in T, of the magnet at an element's centre; zero without a magnet.
func FieldAt(e Element, t quantity.Temperature) float64 {
	var m *magnet.Ring
	switch e := e.(type) {
	case Rotator:
		m = e.Magnet
	case Rod:
		m = e.Magnet
	}
	if m == nil {
		return 0
	}
	b, err := m.OnAxis(0, t)
	if err != nil {
		return 0 // Check has seen that the magnet can be made
	}
	return b
}
