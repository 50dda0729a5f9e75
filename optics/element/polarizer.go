package element

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
)

// Polarizer is a thin polarizing sheet across the beam, or a slab with faces. It passes the polarization along its axis
// with a stated loss and the one across it with that loss and the extinction ratio on top, both in phase: Malus's law,
// with what leaks through.
type Polarizer struct {
	Name       string         // in parameter paths; "" until a stack gives one
	Axis       quantity.Angle // azimuth of the polarization that passes, rad
	Roll       quantity.Angle // of the whole part about z, rad
	Extinction float64        // power ratio, above 1, of the polarization that passes to the one that does not
	Loss       float64        // of the polarization that passes, dB, 0 or more; what faces reflect comes on top
	Slab       Slab           // zero for a thin sheet
}

var polarizerFields = []field[Polarizer]{
	{"axis", "deg", func(p *Polarizer) *float64 { return (*float64)(&p.Axis) }},
	{"roll", "deg", func(p *Polarizer) *float64 { return (*float64)(&p.Roll) }},
	{"loss", "dB", func(p *Polarizer) *float64 { return &p.Loss }},
}

// Sheet acts on the field at a face without thickness.
type Sheet struct {
	Axis        r3.Vec  // unit vector along which the field passes
	Pass, Block float64 // factors on the amplitude along the axis and across it, from 0 to 1
}

// Kind returns "polarizer".
func (Polarizer) Kind() string { return "polarizer" }

// Label returns the polarizer's name.
func (p Polarizer) Label() string { return p.Name }

// Labelled returns a copy with another name.
func (p Polarizer) Labelled(label string) Element { p.Name = label; return p }

// Rolled returns a copy turned about z.
func (p Polarizer) Rolled(angle quantity.Angle) Element {
	p.Roll += angle
	p.Slab.Slant = p.Slab.Slant.rolled(angle)
	return p
}

// slab reports whether the polarizer is one.
func (p *Polarizer) slab() bool { return p.Slab.Thickness > 0 }

// fields are its adjustable numbers but for the extinction ratio.
func (p *Polarizer) fields() []field[Polarizer] {
	if p.slab() {
		return append(polarizerFields[:len(polarizerFields):len(polarizerFields)], slabFields...)
	}
	return polarizerFields
}

// Parameters lists axis, roll, loss and extinction; of a slab also thickness, index, reflectance, tilt, wedge and
// azimuth.
func (p Polarizer) Parameters() []Parameter {
	return append(parameters(&p, p.fields()), Parameter{Path: "extinction",
		Value: quantity.Of(quantity.Decibels(p.Extinction), "dB")})
}

// With returns a copy with one parameter changed, checked.
func (p Polarizer) With(name string, v quantity.Quantity) (Element, error) {
	var err error
	if name == "extinction" {
		p.Extinction, err = extinction(p.Name, v)
	} else {
		err = set(&p, p.fields(), p.Name, name, v)
	}
	if err != nil {
		return nil, err
	}
	return p, p.Check()
}

// Check reports a polarizer that cannot be made: an extinction ratio of 0 dB or less, a negative loss, a slab without
// thickness or index or nearly along the beam.
func (p Polarizer) Check() error {
	switch {
	case !(p.Extinction > 1):
		return fmt.Errorf("polarizer %s: extinction ratio %.4g dB must be positive", p.Name,
			quantity.Decibels(p.Extinction))
	case !(p.Loss >= 0):
		return fmt.Errorf("polarizer %s: loss %g dB must not be negative", p.Name, p.Loss)
	}
	if err := p.Slab.check(); err != nil {
		return fmt.Errorf("polarizer %s: %w", p.Name, err)
	}
	return nil
}

// Place lays out the sheet or the faces of the slab, the same at every temperature.
func (p Polarizer) Place(quantity.Temperature) Part {
	pass := math.Sqrt(quantity.Ratio(-p.Loss))
	if p.slab() {
		return p.Slab.place(float64(p.Axis+p.Roll), pass, pass/math.Sqrt(p.Extinction))
	}
	s, c := math.Sincos(float64(p.Axis + p.Roll))
	return Part{Faces: []Face{{
		Normal: r3.Vec{Z: 1},
		Sheet:  &Sheet{Axis: r3.Vec{X: c, Y: s}, Pass: pass, Block: pass / math.Sqrt(p.Extinction)},
	}}}
}

// Tune has nothing to set: the polarizer is taken as the same at every wavelength and temperature.
func (Polarizer) Tune(quantity.Length, quantity.Temperature, []Medium) error { return nil }

// extinction reads an extinction ratio in dB.
func extinction(label string, v quantity.Quantity) (float64, error) {
	if v.Dimension() != quantity.OfLevel || v.Absolute() {
		return 0, fmt.Errorf("%s.extinction must be given in dB, such as 40 dB, not %s", label, v)
	}
	return quantity.Ratio(v.SI()), nil
}
