package element

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
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
	Aperture quantity.Length      // radius of the clear aperture, m; 0 when it is wide enough

	Surroundings // magnets instead of Field
}

var _ Cautious = Rod{}

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
	if len(r.Magnets) == 0 {
		return parameters(&r, rodFields)
	}
	return append(parameters(&r, rodFields[:2]), magnetParameters(r.Magnets)...)
}

// With returns a copy with one parameter changed.
func (r Rod) With(name string, v quantity.Quantity) (Element, error) {
	var err error
	ring, of := ringOf(r.Magnets, name)
	switch {
	case len(r.Magnets) == 0:
		err = set(&r, rodFields, r.Name, name, v)
	case ring >= 0:
		r.Magnets, err = adjusted(r.Magnets, ring, r.Name, of, v)
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
	case len(r.Magnets) > 0 && r.Field != 0:
		return fmt.Errorf("rotator %s: give a magnet or a uniform field, not both", r.Name)
	case math.IsNaN(r.Field) || math.IsInf(r.Field, 0):
		return fmt.Errorf("rotator %s: field %g mT must be finite", r.Name, r.Field*1e3)
	}
	if err := r.Magnets.Check(); err != nil {
		return fmt.Errorf("rotator %s: %w", r.Name, err)
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

// drive returns the integral of Bz along the rod's axis, in T m. The rod's centre stays where it is against the
// magnets.
func (r Rod) drive(t quantity.Temperature) (float64, error) {
	return r.driveAt(0, t)
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
	inside := t + r.Heat.Rise
	n, err := r.Material.At(l, inside)
	if err != nil {
		return fmt.Errorf("%s: %w", r.Name, err)
	}
	v, err := r.Material.Verdet(l, inside)
	if err != nil {
		return fmt.Errorf("%s: %w", r.Name, err)
	}
	m := &media[0]
	if math.IsNaN(m.Drive) {
		_, err := r.drive(t)
		return err
	}
	*m = Medium{Index: n.N, Group: n.Group, Rotation: v * m.Drive, Drive: m.Drive,
		Crossed: r.Heat.adds(r.Material.Crossed()), Absorption: r.Material.Absorption()}
	return nil
}

// driveAt returns the integral of Bz along a line parallel to the rod's axis at a distance rho from it, in T m.
func (r Rod) driveAt(rho float64, t quantity.Temperature) (float64, error) {
	if len(r.Magnets) == 0 {
		return r.Field * r.long(t), nil
	}
	half := r.long(t) / 2
	bl, err := around(r.Magnets, r.Neighbours).Integral(r3.Vec{X: rho, Z: -half}, r3.Vec{X: rho, Z: half}, t)
	if err != nil {
		return 0, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	return bl, nil
}

// RotationAt returns the rotation in radians, +x towards +y, of light that passes the rod parallel to its axis at a
// distance rho, in metres: the Verdet constant at a vacuum wavelength and a temperature times the integral of Bz dz.
// Its errors are the material's and the magnets'.
func (r Rod) RotationAt(rho, l quantity.Length, t quantity.Temperature) (float64, error) {
	v, err := r.Material.Verdet(l, t+r.Heat.Rise)
	if err != nil {
		return 0, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	drive, err := r.driveAt(float64(rho), t)
	return v * drive, err
}

// Margin returns the least |Bz| in the rod over that at its centre, through its length and out to its clear aperture
// or, where there is none, to usualFootprint: 1 for a uniform field, 0 where Bz changes sign in the rod, so that part
// of it turns the light back.
func (r Rod) Margin(t quantity.Temperature) (magnet.Margin, error) {
	if len(r.Magnets) == 0 {
		return magnet.Margin{}, fmt.Errorf("rotator %s: its field is uniform; a margin needs a magnet", r.Name)
	}
	b := FieldAt(r, t)
	if b == 0 {
		return magnet.Margin{}, fmt.Errorf("rotator %s: its magnets leave no field at its centre", r.Name)
	}
	radius, half := r.Aperture, quantity.Length(r.long(t)/2)
	if radius == 0 {
		radius = usualFootprint
	}
	m, err := around(r.Magnets, r.Neighbours).Margin(magnet.Film{Radius: radius, From: -half, To: half,
		Saturation: math.Abs(b)}, t)
	if err != nil {
		return m, fmt.Errorf("rotator %s: %w", r.Name, err)
	}
	return m, nil
}

// radial is the number of Gauss-Legendre points over the radius of a beam, and widest how many 1/e^2 radii of it count:
// exp(-2 9) of the power lies beyond (choices).
const (
	radial = 24
	widest = 3
)

// Extinction returns the power ratio of the light of a Gaussian beam, of 1/e^2 intensity radius waist in metres, that
// leaves the rod with the rotation of the beam's mean, to that which leaves across it: Pmax/Pmin behind an analyser.
// The field of a ring is not uniform, so that the outer rays turn by another angle than the inner ones: the share
// across is the mean of sin^2 of the difference over the intensity. What the material depolarizes by itself comes on
// top, incoherently. +Inf for a uniform field and a perfect material. A beam wider than the clear aperture is cut off
// there.
func (r Rod) Extinction(waist, l quantity.Length, t quantity.Temperature) (float64, error) {
	if !(waist > 0) {
		return 0, fmt.Errorf("rotator %s: a beam of radius %g mm has no extinction ratio", r.Name, float64(waist)*1e3)
	}
	reach := widest * float64(waist)
	if r.Aperture > 0 {
		reach = min(reach, float64(r.Aperture))
	}
	x, w := make([]float64, radial), make([]float64, radial)
	quad.Legendre{}.FixedLocations(x, w, 0, reach)
	cos, sin, sum := 0.0, 0.0, 0.0 // the Stokes vector (S1, S2) of all rays, and S0
	for i, rho := range x {
		angle, err := r.RotationAt(quantity.Length(rho), l, t)
		if err != nil {
			return 0, err
		}
		s, c := math.Sincos(2 * angle)
		share := w[i] * rho * math.Exp(-2*rho*rho/float64(waist*waist))
		cos, sin, sum = cos+share*c, sin+share*s, sum+share
	}
	kept := math.Hypot(cos, sin) / sum * (1 - 2*r.Heat.adds(r.Material.Crossed()))
	if kept > 1-uniform {
		return math.Inf(1), nil
	}
	return (1 + kept) / (1 - kept), nil
}

// uniform is what rounding and the quadrature leave of a difference from a uniform rotation: 120 dB.
const uniform = 2e-12

// Cautions says in plain sentences, at a temperature in kelvin, where a magnet is too hot, and where its field turns
// round within the rod.
func (r Rod) Cautions(t quantity.Temperature) []string {
	all := r.Magnets.TooHot(t)
	if said := r.Material.TooHot(t + r.Heat.Rise); said != "" {
		all = append(all, said)
	}
	if len(r.Magnets) == 0 {
		return all
	}
	if m, err := r.Margin(t); err == nil && m.Least == 0 {
		all = append(all, fmt.Sprintf("%s reaches to where the field of its magnets changes sign: its ends rotate "+
			"the polarization back", r.called()))
	}
	return all
}

// called is what a sentence calls the rod.
func (r Rod) called() string {
	if r.Name == "" {
		return "the rod"
	}
	return r.Name
}
