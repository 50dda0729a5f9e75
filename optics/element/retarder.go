package element

import (
	"fmt"
	"math"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// Retarder is a wave plate: a plate with its optic axis in its faces, as thick as a retardance asks for.
type Retarder struct {
	Name       string            // in parameter paths; "" until a stack gives one
	Crystal    *material.Crystal // what it is cut from; not nil
	Coating    Coating           // of both faces
	Retardance quantity.Angle    // of one wave against the other without the whole waves, rad
	At         quantity.Length   // vacuum wavelength at which it holds, at 20 degC, m
	Order      int               // whole waves on top, 0 or more: 0 for a true zero-order plate
	Axis       quantity.Angle    // azimuth of the optic axis, rad, before the plate is tilted
	Tilt       quantity.Angle    // of the normal against z, rad, within ±60 deg
	Azimuth    quantity.Angle    // of the tilted normal, rad
	Roll       quantity.Angle    // of the whole part about z, rad
	Aperture   quantity.Length   // radius of the clear aperture, m; 0 when it is wide enough
}

var retarderFields = []field[Retarder]{
	{"retardance", "deg", func(r *Retarder) *float64 { return (*float64)(&r.Retardance) }},
	{"axis", "deg", func(r *Retarder) *float64 { return (*float64)(&r.Axis) }},
	{"tilt", "deg", func(r *Retarder) *float64 { return (*float64)(&r.Tilt) }},
	{"azimuth", "deg", func(r *Retarder) *float64 { return (*float64)(&r.Azimuth) }},
	{"roll", "deg", func(r *Retarder) *float64 { return (*float64)(&r.Roll) }},
	{"reflectance", "percent", func(r *Retarder) *float64 { return &r.Coating.Reflectance }},
}

// Kind returns "retarder".
func (Retarder) Kind() string { return "retarder" }

// Label returns the retarder's name.
func (r Retarder) Label() string { return r.Name }

// Labelled returns a copy with another name.
func (r Retarder) Labelled(label string) Element { r.Name = label; return r }

// Rolled returns a copy turned about z.
func (r Retarder) Rolled(angle quantity.Angle) Element { r.Roll += angle; return r }

// Parameters lists retardance, axis, tilt, azimuth, roll and reflectance.
func (r Retarder) Parameters() []Parameter { return parameters(&r, retarderFields) }

// With returns a copy with one parameter changed; a change of retardance is one of thickness.
func (r Retarder) With(name string, v quantity.Quantity) (Element, error) {
	if err := set(&r, retarderFields, r.Name, name, v); err != nil {
		return nil, err
	}
	return r, r.Check()
}

// Check reports a retarder that cannot be made: no crystal, a negative order, no thickness, a wavelength outside the
// crystal's range.
func (r Retarder) Check() error {
	switch {
	case r.Crystal == nil:
		return fmt.Errorf("retarder %s has no crystal", r.Name)
	case !(r.At > 0):
		return fmt.Errorf("retarder %s: the wavelength its retardance holds at must be positive", r.Name)
	case r.Order < 0:
		return fmt.Errorf("retarder %s: order %d must not be negative", r.Name, r.Order)
	}
	d, err := r.Thickness()
	if err != nil {
		return err
	}
	if !(d > 0) {
		return fmt.Errorf("retarder %s: a retardance of %.6g deg and order %d need a thickness of %g mm", r.Name,
			float64(r.Retardance/quantity.Degree), r.Order, float64(d)*1e3)
	}
	return r.plate(d).Check()
}

// Thickness returns the thickness in metres at 20 degC: (Order + Retardance/360 deg) At/|ne - no|. Its error is the
// crystal's.
func (r Retarder) Thickness() (quantity.Length, error) {
	n, err := r.Crystal.At(r.At, fabricated)
	if err != nil {
		return 0, fmt.Errorf("retarder %s: %w", r.Name, err)
	}
	return n.Retarder(r.Retardance+quantity.Angle(2*math.Pi*float64(r.Order)), r.At), nil
}

func (r Retarder) plate(d quantity.Length) Plate {
	return Plate{Name: r.Name, As: "retarder", Crystal: r.Crystal, Coating: r.Coating, Thickness: d,
		Axis: r.Axis, Cut: math.Pi / 2, Tilt: r.Tilt, Azimuth: r.Azimuth, Roll: r.Roll, Aperture: r.Aperture}
}

// Place lays out the plate at a temperature in kelvin.
func (r Retarder) Place(t quantity.Temperature) Part {
	d, _ := r.Thickness() // Check has seen that there is one
	return r.plate(d).Place(t)
}

// Tune sets the crystal's indices at a vacuum wavelength in metres and a temperature in kelvin; its errors are the
// crystal's.
func (r Retarder) Tune(l quantity.Length, t quantity.Temperature, media []Medium) error {
	return tuneCrystal(r.Name, r.Crystal, l, t, media)
}
