package element

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/ray"
)

// Plate is a crystal plate with parallel faces and its optic axis anywhere: a walk-off displacer, a wave plate,
// a delay compensator.
type Plate struct {
	Name      string            // in parameter paths; "" until a stack gives one
	As        string            // the kind it is called by: "plate" or "displacer"
	Crystal   *material.Crystal // nil for a plate of glass
	Glass     *material.Glass   // instead of a crystal: an isotropic plate, whose axis means nothing
	Coating   Coating           // of both faces
	Thickness quantity.Length   // along the device's z axis, m, above 0
	Axis      quantity.Angle    // azimuth of the optic axis, rad, before the plate is tilted
	Cut       quantity.Angle    // between the optic axis and the plate's normal, rad
	Tilt      quantity.Angle    // of the normal against z, rad, within ±60 deg
	Azimuth   quantity.Angle    // of the tilted normal, rad
	Roll      quantity.Angle    // of the whole part about z, rad
	Aperture  quantity.Length   // radius of the clear aperture, m; 0 when it is wide enough
}

var plateFields = []field[Plate]{
	{"thickness", "mm", func(p *Plate) *float64 { return (*float64)(&p.Thickness) }},
	{"axis", "deg", func(p *Plate) *float64 { return (*float64)(&p.Axis) }},
	{"cut", "deg", func(p *Plate) *float64 { return (*float64)(&p.Cut) }},
	{"tilt", "deg", func(p *Plate) *float64 { return (*float64)(&p.Tilt) }},
	{"azimuth", "deg", func(p *Plate) *float64 { return (*float64)(&p.Azimuth) }},
	{"roll", "deg", func(p *Plate) *float64 { return (*float64)(&p.Roll) }},
	{"reflectance", "percent", func(p *Plate) *float64 { return &p.Coating.Reflectance }},
}

// Kind returns "plate" or "displacer".
func (p Plate) Kind() string { return p.As }

// Label returns the plate's name.
func (p Plate) Label() string { return p.Name }

// Labelled returns a copy with another name.
func (p Plate) Labelled(label string) Element { p.Name = label; return p }

// Rolled returns a copy turned about z.
func (p Plate) Rolled(angle quantity.Angle) Element { p.Roll += angle; return p }

// Parameters lists thickness, axis, cut, tilt, azimuth, roll and reflectance.
func (p Plate) Parameters() []Parameter { return parameters(&p, plateFields) }

// With returns a copy with one parameter changed, checked.
func (p Plate) With(name string, v quantity.Quantity) (Element, error) {
	if err := set(&p, plateFields, p.Name, name, v); err != nil {
		return nil, err
	}
	return p, p.Check()
}

// Check reports a plate that cannot be made: of no or of two materials, without a thickness, tilted by 60 deg or more.
func (p Plate) Check() error { return p.check() }

func (p *Plate) check() error {
	switch {
	case p.As == "":
		return fmt.Errorf("plate %s: As must name it, \"plate\" or \"displacer\"", p.Name)
	case (p.Crystal == nil) == (p.Glass == nil):
		return fmt.Errorf("%s %s must be of a crystal or of a glass", p.As, p.Name)
	case !(p.Thickness > 0):
		return fmt.Errorf("%s %s: thickness %g mm must be positive", p.As, p.Name, float64(p.Thickness)*1e3)
	case !(math.Abs(float64(p.Tilt)) < math.Pi/3):
		return fmt.Errorf("%s %s: tilt %.6g deg must be less than 60 deg", p.As, p.Name,
			float64(p.Tilt/quantity.Degree))
	}
	if err := p.Coating.Check(); err != nil {
		return fmt.Errorf("%s %s: %w", p.As, p.Name, err)
	}
	return nil
}

// Place lays out the two parallel faces at a temperature in kelvin and turns the optic axis with the plate. The
// material expands as that of a Wedge does.
func (p Plate) Place(t quantity.Temperature) (part Part) { p.lay(t, &part); return part }

func (p *Plate) lay(t quantity.Temperature, part *Part) {
	up := r3.Vec{Z: 1}
	n := normal(float64(p.Tilt), float64(p.Azimuth+p.Roll))
	axis := ray.Turn(normal(float64(p.Cut), float64(p.Axis+p.Roll)), up, n)
	var x material.Expansion
	if p.Glass != nil {
		x.A, _ = p.Glass.Expansion()
		x.C = x.A
		part.medium(Medium{})
	} else {
		x, _ = p.Crystal.Expansion()
		part.crystal().Axis = axis
	}
	grow := tensor{1 + x.A*float64(t-fabricated), 1 + x.C*float64(t-fabricated), axis}
	n = unit(grow.inverse(n))
	// The far face passes through where its point on the axis has moved to.
	far := grow.apply(r3.Vec{Z: float64(p.Thickness)})
	length := r3.Dot(n, far) / n.Z
	front, back := part.faces(&p.Coating, p.Aperture)
	front.Normal, back.Normal, back.Z = n, n, length
	part.Length = length
}

// Tune sets the indices at a vacuum wavelength in metres and a temperature in kelvin; its errors are the material's.
func (p Plate) Tune(l quantity.Length, t quantity.Temperature, media []Medium) error {
	return p.tune(l, t, media)
}

func (p *Plate) tune(l quantity.Length, t quantity.Temperature, media []Medium) error {
	if p.Glass != nil {
		n, err := p.Glass.At(l, t)
		if err != nil {
			return fmt.Errorf("%s: %w", p.Name, err)
		}
		media[0].Index, media[0].Group = n.N, n.Group
		return nil
	}
	return tuneCrystal(p.Name, p.Crystal, l, t, media)
}

func tuneCrystal(label string, c *material.Crystal, l quantity.Length, t quantity.Temperature, media []Medium) error {
	n, err := c.At(l, t)
	if err != nil {
		return fmt.Errorf("%s: %w", label, err)
	}
	u := media[0].Crystal
	u.O, u.E, u.GroupO, u.GroupE = n.O, n.E, n.GroupO, n.GroupE
	return nil
}
