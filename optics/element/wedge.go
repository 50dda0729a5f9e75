package element

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// Side tells which face of a wedge is slanted.
type Side string

// The sides of a wedge.
const (
	Front Side = "front" // the face that forward light meets first
	Back  Side = "back"  // the face that forward light meets last
)

// Wedge is a birefringent wedge, its optic axis in the flat face unless it is cut otherwise.
type Wedge struct {
	Name      string            // in parameter paths; "" until a stack gives one
	Crystal   *material.Crystal // what it is cut from; not nil
	Slanted   Side              // the face that is not square to z
	Coating   Coating           // of both faces
	Apex      quantity.Angle    // angle of the slanted face to the flat one, rad, within ±45 deg
	Thickness quantity.Length   // on the z axis, m, above 0
	Axis      quantity.Angle    // azimuth of the optic axis, rad
	Rise      quantity.Angle    // of the optic axis out of the flat face, rad: 90 deg less the cut
	Azimuth   quantity.Angle    // of the slanted face's normal, rad
	Roll      quantity.Angle    // of the whole part about z, rad
	Aperture  quantity.Length   // radius of the clear aperture, m; 0 when it is wide enough
}

var wedgeFields = []field[Wedge]{
	{"apex", "deg", func(w *Wedge) *float64 { return (*float64)(&w.Apex) }},
	{"thickness", "mm", func(w *Wedge) *float64 { return (*float64)(&w.Thickness) }},
	{"axis", "deg", func(w *Wedge) *float64 { return (*float64)(&w.Axis) }},
	{"azimuth", "deg", func(w *Wedge) *float64 { return (*float64)(&w.Azimuth) }},
	{"roll", "deg", func(w *Wedge) *float64 { return (*float64)(&w.Roll) }},
	{"reflectance", "percent", func(w *Wedge) *float64 { return &w.Coating.Reflectance }},
}

// Kind returns "wedge".
func (Wedge) Kind() string { return "wedge" }

// Label returns the wedge's name.
func (w Wedge) Label() string { return w.Name }

// Labelled returns a copy with another name.
func (w Wedge) Labelled(label string) Element { w.Name = label; return w }

// Rolled returns a copy turned about z.
func (w Wedge) Rolled(angle quantity.Angle) Element { w.Roll += angle; return w }

// Parameters lists apex, thickness, axis, azimuth, roll, reflectance and cut, the angle between the optic axis
// and the normal of the flat face.
func (w Wedge) Parameters() []Parameter {
	cut := quantity.FromSI(math.Pi/2-float64(w.Rise), quantity.MustNamed("deg"))
	return append(parameters(&w, wedgeFields), Parameter{Path: "cut", Value: cut})
}

// With returns a copy with one parameter changed, checked.
func (w Wedge) With(name string, v quantity.Quantity) (Element, error) {
	if name == "cut" {
		var cut quantity.Angle
		if err := set(&cut, []field[quantity.Angle]{{"cut", "deg",
			func(a *quantity.Angle) *float64 { return (*float64)(a) }}}, w.Name, name, v); err != nil {
			return nil, err
		}
		w.Rise = math.Pi/2 - cut
	} else if err := set(&w, wedgeFields, w.Name, name, v); err != nil {
		return nil, err
	}
	return w, w.Check()
}

// Check reports a wedge that cannot be made: no crystal, no slanted face, a thickness of 0 or less, an apex of 45 deg
// or more.
func (w Wedge) Check() error { return w.check() }

func (w *Wedge) check() error {
	switch {
	case w.Crystal == nil:
		return fmt.Errorf("wedge %s has no crystal", w.Name)
	case w.Slanted != Front && w.Slanted != Back:
		return fmt.Errorf("wedge %s: slanted must be \"front\" or \"back\", not %q", w.Name, w.Slanted)
	case !(w.Thickness > 0):
		return fmt.Errorf("wedge %s: thickness %g mm must be positive", w.Name, float64(w.Thickness)*1e3)
	case !(math.Abs(float64(w.Apex)) < math.Pi/4):
		return fmt.Errorf("wedge %s: apex %.6g deg must be less than 45 deg", w.Name, float64(w.Apex/quantity.Degree))
	}
	if err := w.Coating.Check(); err != nil {
		return fmt.Errorf("wedge %s: %w", w.Name, err)
	}
	return nil
}

// Place lays out the two faces at a temperature in kelvin. The crystal expands by its own tensor: points move by
// I + alpha dT and normals by the inverse, from 20 degC, with no expansion where none is known.
func (w Wedge) Place(t quantity.Temperature) (p Part) { w.lay(t, &p); return p }

func (w *Wedge) lay(t quantity.Temperature, p *Part) {
	var axis r3.Vec
	if w.Rise == 0 { // exactly in the flat face
		axis.Y, axis.X = math.Sincos(float64(w.Axis + w.Roll))
	} else {
		axis = normal(math.Pi/2-float64(w.Rise), float64(w.Axis+w.Roll))
	}
	x, _ := w.Crystal.Expansion()
	grow := tensor{1 + x.A*float64(t-fabricated), 1 + x.C*float64(t-fabricated), axis}

	flat, slant := p.faces(&w.Coating, w.Aperture)
	last := slant
	if w.Slanted == Front {
		flat, slant = slant, flat
		last = flat
	}
	slant.Normal = unit(grow.inverse(normal(float64(w.Apex), float64(w.Azimuth+w.Roll))))
	length := grow.across * float64(w.Thickness)
	if flat.Normal = (r3.Vec{Z: 1}); w.Rise != 0 { // otherwise the axis is square to z
		flat.Normal = unit(grow.inverse(flat.Normal))
		moved := grow.apply(r3.Vec{Z: float64(w.Thickness)})
		// The far face passes through where its point on the axis has moved to.
		length = r3.Dot(last.Normal, moved) / last.Normal.Z
	}
	last.Z = length
	p.crystal().Axis = axis
	p.Length = length
}

// Tune sets the crystal's indices at a vacuum wavelength in metres and a temperature in kelvin; its errors are the
// crystal's.
func (w Wedge) Tune(l quantity.Length, t quantity.Temperature, media []Medium) error {
	return w.tune(l, t, media)
}

func (w *Wedge) tune(l quantity.Length, t quantity.Temperature, media []Medium) error {
	return tuneCrystal(w.Name, w.Crystal, l, t, media)
}

// tensor is a uniaxial tensor: one value across the axis and one along it.
type tensor struct {
	across, along float64
	axis          r3.Vec
}

func (s tensor) apply(v r3.Vec) r3.Vec {
	c := r3.Dot(v, s.axis)
	return r3.Add(r3.Scale(s.across, v), r3.Scale(c*(s.along-s.across), s.axis))
}

func (s tensor) inverse(v r3.Vec) r3.Vec {
	c := r3.Dot(v, s.axis)
	across, along := 1/s.across, c*(1/s.along-1/s.across)
	return r3.Vec{X: across*v.X + along*s.axis.X, Y: across*v.Y + along*s.axis.Y, Z: across*v.Z + along*s.axis.Z}
}
