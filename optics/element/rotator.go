package element

import (
	"fmt"
	"math"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// Rotator is a garnet film that, when saturated, turns the polarization by Angle at wavelength At and
// Temperature; its thickness follows from the garnet's specific rotation. A change of Angle is a change of
// thickness: the slopes scale with it.
type Rotator struct {
	Name        string               // in parameter paths; "" until a stack gives one
	Garnet      material.Garnet      // what it is made of
	Coating     Coating              // of both faces
	Angle       quantity.Angle       // rotation of the saturated film, rad, within ±180 deg, +x towards +y either way
	At          quantity.Length      // vacuum wavelength of Angle, m, above 0
	Temperature quantity.Temperature // temperature of Angle, K, above 0
	Aperture    quantity.Length      // radius of the clear aperture, m; 0 when it is wide enough
	Slant       Slant                // how it stands across the beam; zero: square to it, its faces parallel
	Surroundings

	// Footprint is the radius of the beam with its offset, m, over which the magnet must saturate the film; 0 stands
	// for the clear aperture, or where there is none for 0.3 mm.
	Footprint quantity.Length
}

var _ Cautious = Rotator{}

// rotatorFields leaves out the extinction ratio, which the garnet keeps as a power ratio and a cell
// writes in dB.
var rotatorFields = append([]field[Rotator]{
	{"angle", "deg", func(r *Rotator) *float64 { return (*float64)(&r.Angle) }},
	{"index", "", func(r *Rotator) *float64 { return &r.Garnet.Index }},
	{"reflectance", "percent", func(r *Rotator) *float64 { return &r.Coating.Reflectance }},
	{"per_kelvin", "deg/kelvin", func(r *Rotator) *float64 { return &r.Garnet.PerKelvin }},
	{"per_nm", "deg/nm", func(r *Rotator) *float64 { return &r.Garnet.PerMetre }},
}, slantFields(func(r *Rotator) *Slant { return &r.Slant })...)

// Kind returns "rotator".
func (Rotator) Kind() string { return "rotator" }

// Label returns the rotator's name.
func (r Rotator) Label() string { return r.Name }

// Labelled returns a copy with another name.
func (r Rotator) Labelled(label string) Element { r.Name = label; return r }

// Rolled returns a copy turned about z: one square to the beam looks alike from every side.
func (r Rotator) Rolled(angle quantity.Angle) Element { r.Slant = r.Slant.rolled(angle); return r }

// Parameters lists angle, index, reflectance, the slopes of a 45 deg film, tilt, wedge and azimuth, extinction, and the
// remanence and place of its magnets.
func (r Rotator) Parameters() []Parameter {
	all := parameters(&r, rotatorFields)
	for i := len(all) - slantNumbers; i < len(all); i++ {
		all[i].Omitted = r.Slant.square()
	}
	all = append(all, Parameter{Path: "extinction",
		Value: quantity.Of(quantity.Decibels(r.Garnet.Extinction), "dB")})
	return append(all, magnetParameters(r.Magnets)...)
}

// With returns a copy with one parameter changed, checked. A change of angle is one of thickness.
func (r Rotator) With(name string, v quantity.Quantity) (Element, error) {
	if name == "extinction" {
		q, err := extinction(r.Name, v)
		if err != nil {
			return nil, err
		}
		r.Garnet.Extinction = q
		return r, r.Check()
	}
	if ring, of := ringOf(r.Magnets, name); ring >= 0 {
		m, err := adjusted(r.Magnets, ring, r.Name, of, v)
		if err != nil {
			return nil, err
		}
		r.Magnets = m
		return r, r.Check()
	}
	if err := set(&r, rotatorFields, r.Name, name, v); err != nil {
		return nil, err
	}
	return r, r.Check()
}

// Check reports a rotator that cannot be made: an angle beyond ±180 deg, one without its wavelength or temperature,
// values that no film has, or a magnet whose field contradicts the sign of the angle.
func (r Rotator) Check() error { return r.check() }

func (r *Rotator) check() error {
	if err := r.checkAngle(); err != nil {
		return err
	}
	if !(r.At > 0) {
		return fmt.Errorf("rotator %s: its angle needs the wavelength that it holds at (At), not %g nm", r.Name,
			float64(r.At)/1e-9)
	}
	if !(r.Temperature > 0) {
		return fmt.Errorf("rotator %s: its angle needs the temperature that it holds at (Temperature), not %g kelvin",
			r.Name, float64(r.Temperature))
	}
	if err := r.Garnet.Check(); err != nil {
		return fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	if err := r.Coating.Check(); err != nil {
		return fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	if _, err := r.thickness(); err != nil {
		return err
	}
	if err := r.Slant.check(); err != nil {
		return fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	return r.checkField()
}

// checkAngle is what check says of the angle by itself.
func (r *Rotator) checkAngle() error {
	if !(math.Abs(float64(r.Angle)) <= math.Pi) {
		return fmt.Errorf("rotator %s: angle %.6g deg must lie within ±180 deg", r.Name,
			float64(r.Angle/quantity.Degree))
	}
	return nil
}

// Thickness returns the thickness of the film in metres: |Angle| over the garnet's specific rotation at At and
// Temperature.
func (r Rotator) Thickness() (quantity.Length, error) { return r.thickness() }

func (r *Rotator) thickness() (quantity.Length, error) {
	d, err := r.Garnet.Thickness(r.Angle, r.At, r.Temperature)
	if err != nil {
		return 0, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	return d, nil
}

// Place lays out the two faces, the same at every temperature: the film's expansion is part of its
// coefficient of temperature.
func (r Rotator) Place(t quantity.Temperature) (p Part) { r.lay(t, &p); return p }

func (r *Rotator) lay(_ quantity.Temperature, p *Part) {
	d, _ := r.thickness() // check has seen that there is one
	front, back := p.faces(&r.Coating, r.Aperture)
	r.Slant.lay(front, back, float64(d))
	if len(p.Media) != 1 {
		p.medium(Medium{}) // else the room of an earlier one, of which Tune sets all
	}
	p.Length = back.Z
}

// Tune sets index, rotation, depolarization and absorption at a vacuum wavelength in metres and a temperature in
// kelvin. Below saturation the rotation falls in proportion to the field at the film's centre. In a film with a Slant
// light is turned by its way along z, along which the film is magnetized.
func (r Rotator) Tune(l quantity.Length, t quantity.Temperature, media []Medium) error {
	return r.tune(l, t, media)
}

func (r *Rotator) tune(l quantity.Length, t quantity.Temperature, media []Medium) error {
	share, err := r.saturated(t)
	if err != nil {
		return err
	}
	inside := t + r.Heat.Rise
	if err := r.Garnet.Covers(l); err != nil {
		return fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	if err := r.Garnet.Above(inside); err != nil {
		return fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	media[0] = Medium{
		Index: r.Garnet.Index, Group: r.Garnet.Index,
		Rotation:   share * r.Garnet.Turn(r.Angle, r.At, l, r.Temperature, inside),
		Crossed:    r.Heat.adds(r.Garnet.Crossed()),
		Absorption: r.Garnet.Absorption,
	}
	if !r.Slant.square() {
		d, err := r.thickness()
		if err != nil {
			return err
		}
		media[0].Span = float64(d)
	}
	return nil
}
