package element

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/magnet"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// Rod is a paramagnetic Faraday rotator: a rod in a magnet's field, or in a uniform one. Its rotation is the integral
// of Verdet constant times Bz along the axis.
type Rod struct {
	Name     string               // in parameter paths; "" until a stack gives one
	Material *material.Paramagnet // what it is made of; not nil
	Coating  Coating              // of both faces
	Length   quantity.Length      // at 20 degC, m, above 0
	Field    float64              // uniform flux density along +z, T, where there is no magnet
	Magnet   *magnet.Ring         // instead of Field; its Position is relative to the rod's centre
	Aperture quantity.Length      // radius of the clear aperture, m; 0 when it is wide enough
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

// Parameters lists length, reflectance, and the uniform field or the magnet's remanence and place.
func (r Rod) Parameters() []Parameter {
	if r.Magnet == nil {
		return parameters(&r, rodFields)
	}
	return append(parameters(&r, rodFields[:2]), parameters(r.Magnet, magnetFields)...)
}

// With returns a copy with one parameter changed.
func (r Rod) With(name string, v quantity.Quantity) (Element, error) {
	var err error
	switch {
	case r.Magnet == nil:
		err = set(&r, rodFields, r.Name, name, v)
	case ofMagnet(name):
		r.Magnet, err = adjusted(r.Magnet, r.Name, name, v)
	default:
		err = set(&r, rodFields[:2], r.Name, name, v)
	}
	if err != nil {
		return nil, err
	}
	return r, r.Check()
}

// Check reports a rod that cannot be made: no material, no length, a field beside a magnet, or a magnet that cannot be.
func (r Rod) Check() error {
	switch {
	case r.Material == nil:
		return fmt.Errorf("rotator %s has no material", r.Name)
	case !(r.Length > 0):
		return fmt.Errorf("rotator %s: length %g mm must be positive", r.Name, float64(r.Length)*1e3)
	case r.Magnet != nil && r.Field != 0:
		return fmt.Errorf("rotator %s: give a magnet or a uniform field, not both", r.Name)
	case math.IsNaN(r.Field) || math.IsInf(r.Field, 0):
		return fmt.Errorf("rotator %s: field %g mT must be finite", r.Name, r.Field*1e3)
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

// long returns the length at a temperature, in m.
func (r Rod) long(t quantity.Temperature) float64 {
	alpha, _ := r.Material.Expansion()
	return float64(r.Length) * (1 + alpha*float64(t-fabricated))
}

// drive returns the integral of Bz along the rod's axis, in T m. The rod's centre stays where it is against the magnet.
func (r Rod) drive(t quantity.Temperature) (float64, error) {
	if r.Magnet == nil {
		return r.Field * r.long(t), nil
	}
	half := r.long(t) / 2
	bl, err := r.Magnet.Integral(r3.Vec{Z: -half}, r3.Vec{Z: half}, t)
	if err != nil {
		return 0, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	return bl, nil
}

// Place lays out the two parallel faces, and works out the integral of Bz dz along the axis, at a temperature in
// kelvin.
func (r Rod) Place(t quantity.Temperature) (p Part) {
	long := r.long(t)
	drive, err := r.drive(t)
	if err != nil {
		drive = math.NaN() // heat has ruined the magnet: Tune, which may fail, says so
	}
	front, back := p.faces(&r.Coating, r.Aperture)
	front.Normal.Z, back.Normal.Z, back.Z = 1, 1, long
	p.medium(Medium{Drive: drive})
	p.Length = long
	return p
}

// Tune sets index, absorption and rotation, the Verdet constant times the integral of Bz dz, at a vacuum wavelength
// in metres and a temperature in kelvin. Its errors are the material's, and that of a magnet that heat has left no
// remanence.
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
	if math.IsNaN(m.Drive) {
		_, err := r.drive(t)
		return err
	}
	*m = Medium{Index: n.N, Group: n.Group, Rotation: v * m.Drive, Drive: m.Drive,
		Crossed: r.Material.Crossed(), Absorption: r.Material.Absorption()}
	return nil
}
