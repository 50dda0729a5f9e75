// Package magnet computes the field of axially magnetized ring magnets, on the axis in closed form and off
// it by complete elliptic integrals, its integral along a ray, and what it leaves of a margin over the
// saturation of a garnet film.
//
// Conventions: the magnet's axis is the device's z axis, its centre stands at Position on it. All points are
// device coordinates; with Position zero they are relative to the magnet's centre. Remanence > 0 magnetizes
// along +z, and the field in the bore is then negative. Flux densities are in tesla, lengths in metres.
//
// The magnet is rigid: permeability one, magnetization uniform and untouched by outside fields. So neither
// the demagnetization of a short ring beyond its knee nor what heat takes for good is modelled; nor are
// yokes and the film's own field. Rings beside each other are an Assembly, whose fields add up. Its dimensions do not
// change with temperature.
package magnet

import (
	"errors"
	"fmt"
	"math"

	"wedgework/optics/quantity"
)

// Ring is an axially magnetized ring, or a solid cylinder where Inner is zero. A zero Coefficient is a
// remanence that does not change with temperature.
type Ring struct {
	Inner, Outer quantity.Length // radii of bore and mantle, m; Outer is the greater
	Length       quantity.Length // along the axis, m, above 0
	// T at Temperature, within ±10 and not 0; its sign is that of the magnetization along z
	Remanence   float64
	Coefficient float64              // relative change of the remanence, 1/K, within ±0.1
	Temperature quantity.Temperature // of Remanence, K; needed where Coefficient is not 0
	Position    quantity.Length      // z of the centre, m

	// Greatest is the temperature up to which the material loses nothing for good, K; 0 where it is not known.
	Greatest quantity.Temperature
}

// ErrEdge reports a point on one of the four edge circles, where the field of a sharp edge is infinite; errors.Is
// finds it.
var ErrEdge = errors.New("the point lies on an edge of the magnet, where the field of a sharp edge is infinite")

var errPlace = errors.New("the field is asked for at a point that is not a finite place")

// Check reports a ring that cannot be made: radii, length, remanence or coefficient outside the bounds of their fields.
func (r *Ring) Check() error {
	const mm = float64(quantity.Millimetre)
	switch {
	case !(r.Inner >= 0 && r.Outer > r.Inner && !math.IsInf(float64(r.Outer), 0)):
		return fmt.Errorf("magnet: radii %g mm inside and %g mm outside do not make a ring", float64(r.Inner)/mm,
			float64(r.Outer)/mm)
	case !(r.Length > 0 && !math.IsInf(float64(r.Length), 0)):
		return fmt.Errorf("magnet: length %g mm must be positive", float64(r.Length)/mm)
	case !(math.Abs(r.Remanence) > 0 && math.Abs(r.Remanence) < 10):
		return fmt.Errorf("magnet: remanence %g T must not be zero and lie within ±10 T", r.Remanence)
	case !(math.Abs(r.Coefficient) < 0.1):
		return fmt.Errorf("magnet: temperature coefficient %g percent/kelvin must lie within ±10 percent/kelvin",
			r.Coefficient*100)
	case r.Coefficient != 0 && !(r.Temperature > 0):
		return fmt.Errorf("magnet: the remanence needs a temperature above 0 kelvin, not %g kelvin",
			float64(r.Temperature))
	case math.IsNaN(float64(r.Position)) || math.IsInf(float64(r.Position), 0):
		return fmt.Errorf("magnet: position %g mm must be finite", float64(r.Position)/mm)
	}
	return nil
}

// RemanenceAt returns the remanence at a temperature, Br (1 + Coefficient (t - Temperature)), in tesla. Where
// that straight line has run through zero it is an error.
func (r *Ring) RemanenceAt(t quantity.Temperature) (float64, error) {
	if r.Coefficient == 0 {
		return r.Remanence, nil
	}
	if !(t > 0) {
		return 0, fmt.Errorf("magnet: a temperature must be above 0 kelvin, got %g kelvin", float64(t))
	}
	factor := 1 + r.Coefficient*float64(t-r.Temperature)
	if !(factor > 0) {
		return 0, fmt.Errorf("magnet at %.4g degC: its remanence of %g T at %.4g degC with %.3g percent/kelvin "+
			"leaves none",
			t.Celsius(), r.Remanence, r.Temperature.Celsius(), r.Coefficient*100)
	}
	return r.Remanence * factor, nil
}

// OnAxis returns Bz in tesla on the axis at z, in metres, and at a temperature in kelvin: for each mantle of radius
// R, Br/2 ((h+l)/sqrt(R^2+(h+l)^2) - (h-l)/sqrt(R^2+(h-l)^2)), with h from the centre and l half the length, the
// outer one less the inner one (a solenoid of the magnet's surface current; D. J. Griffiths, Introduction to
// Electrodynamics, 5, from memory). The error is that of RemanenceAt.
func (r *Ring) OnAxis(z quantity.Length, t quantity.Temperature) (float64, error) {
	br, err := r.RemanenceAt(t)
	if err != nil {
		return 0, err
	}
	half, h := float64(r.Length)/2, float64(z-r.Position)
	b := onAxis(float64(r.Outer), half, h)
	// The closed form counts a mantle of no radius as a full line of current; there is none.
	if r.Inner > 0 {
		b -= onAxis(float64(r.Inner), half, h)
	}
	return br * b, nil
}

// Polar returns the radial and axial flux density in tesla at a distance rho from the axis and at z, in metres, by
// complete elliptic integrals (N. Derby and S. Olbert, American Journal of Physics 78, 229, 2010). On the mantles,
// where Bz jumps by the remanence, it is the mean of both sides; on an edge the error is ErrEdge.
//
// The error is a few 1e-16 of the remanence: relative to the field itself it grows with distance, as the fields of
// the mantles cancel, to about 1e-10 at a hundred times the magnet's size.
func (r *Ring) Polar(rho, z quantity.Length, t quantity.Temperature) (radial, axial float64, err error) {
	br, err := r.RemanenceAt(t)
	if err != nil {
		return 0, 0, err
	}
	if math.IsNaN(float64(rho-z)) || math.IsInf(float64(rho), 0) || math.IsInf(float64(z), 0) {
		return 0, 0, errPlace
	}
	radial, axial = r.unit(float64(rho), float64(z-r.Position))
	if math.IsNaN(radial) {
		return 0, 0, ErrEdge
	}
	return br * radial, br * axial, nil
}

// unit returns the field of a remanence of one tesla at rho and z from the centre, NaN on the edges.
func (r *Ring) unit(rho, z float64) (radial, axial float64) {
	rho = math.Abs(rho)
	half := float64(r.Length) / 2
	radial, axial = cylinder(float64(r.Outer), half, rho, z)
	if r.Inner > 0 {
		ir, ia := cylinder(float64(r.Inner), half, rho, z)
		radial, axial = radial-ir, axial-ia
	}
	return radial, axial
}
