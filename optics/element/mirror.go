package element

import (
	"fmt"
	"math"

	"wedgework/optics/quantity"
)

// Mirror is a plane mirror: the last element of a stack whose light returns to the end that it came from.
type Mirror struct {
	Name        string         // in parameter paths; "" until a stack gives one
	Reflectance float64        // share of the power reflected, of both polarizations, above 0 up to 1
	Tilt        quantity.Angle // of the normal against z, rad, within ±60 deg
	Azimuth     quantity.Angle // of the tilted normal, rad
	Roll        quantity.Angle // of the whole part about z, rad
}

var mirrorFields = []field[Mirror]{
	{"reflectance", "percent", func(m *Mirror) *float64 { return &m.Reflectance }},
	{"tilt", "deg", func(m *Mirror) *float64 { return (*float64)(&m.Tilt) }},
	{"azimuth", "deg", func(m *Mirror) *float64 { return (*float64)(&m.Azimuth) }},
	{"roll", "deg", func(m *Mirror) *float64 { return (*float64)(&m.Roll) }},
}

// Kind returns "mirror".
func (Mirror) Kind() string { return "mirror" }

// Label returns the mirror's name.
func (m Mirror) Label() string { return m.Name }

// Labelled returns a copy with another name.
func (m Mirror) Labelled(label string) Element { m.Name = label; return m }

// Rolled returns a copy turned about z.
func (m Mirror) Rolled(angle quantity.Angle) Element { m.Roll += angle; return m }

// Parameters lists reflectance, tilt, azimuth and roll.
func (m Mirror) Parameters() []Parameter { return parameters(&m, mirrorFields) }

// With returns a copy with one parameter changed, checked.
func (m Mirror) With(name string, v quantity.Quantity) (Element, error) {
	if err := set(&m, mirrorFields, m.Name, name, v); err != nil {
		return nil, err
	}
	return m, m.Check()
}

// Check reports a mirror that cannot be made: a reflectance outside 0 to 1, a tilt of 60 deg or more.
func (m Mirror) Check() error {
	switch {
	case !(m.Reflectance > 0 && m.Reflectance <= 1):
		return fmt.Errorf("mirror %s: reflectance %g must be above 0 and at most 1", m.Name, m.Reflectance)
	case !(math.Abs(float64(m.Tilt)) < math.Pi/3):
		return fmt.Errorf("mirror %s: tilt %.6g deg must be less than 60 deg", m.Name,
			float64(m.Tilt/quantity.Degree))
	}
	return nil
}

// Place lays out the mirror's face, the same at every temperature.
func (m Mirror) Place(quantity.Temperature) Part {
	return Part{Faces: []Face{{Normal: normal(float64(m.Tilt), float64(m.Azimuth+m.Roll)), Reflectance: m.Reflectance,
		Mirror: true}}}
}

// Tune has nothing to set: the mirror is taken as the same at every wavelength and temperature.
func (Mirror) Tune(quantity.Length, quantity.Temperature, []Medium) error { return nil }
