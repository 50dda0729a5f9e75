package element

import (
	"fmt"
	"math"

	"wedgework/optics/beam"
	"wedgework/optics/quantity"
)

// Collimator is a matched pair of fibre collimators, one at each end of a stack. Each makes the same
// waist; with nothing between them the two waists coincide midway.
//
// The waist is stated, and then the same at every wavelength, or it is the image of a fibre's mode by a
// lens of the stated focal length, set once at the wavelength of alignment.
type Collimator struct {
	Waist           quantity.Length // radius at 1/e^2 of the intensity, in air; 0 when a fibre and a lens make it
	WorkingDistance quantity.Length // lens face to lens face
	Loss            float64         // dB, of the pair by itself at its best: lens aberration, fibre facets
	Fibre           Fibre
	Focal           quantity.Length // of the lens, when it makes the waist
	Pointing        float64         // tilt of the receiving collimator with temperature, along +x, rad/K

	Ferrule            quantity.Angle // angle of the fibre's end face
	FerruleReflectance float64        // of the fibre's end face
	Facet              quantity.Angle // of the lens face towards the stack, against the beam
	FacetReflectance   float64        // of the lens face towards the stack
	ReturnFloor        float64        // dB: the return loss that scatter leaves at best

	Pigtails Pigtails // the axes of the fibres, of polarization-maintaining ones
}

// Fibre is a single-mode fibre by its mode field, or by the core that makes it.
type Fibre struct {
	ModeRadius quantity.Length // 1/e^2 intensity radius: half the mode-field diameter
	Core       quantity.Length // radius of a step-index core, when ModeRadius is 0
	Aperture   float64         // numerical aperture of that core

	// Index is the phase index of the mode, for reflections at the fibre's end; 0 stands for that of standard fibre.
	Index float64
}

// known reports whether the fibre has a mode.
func (f Fibre) known() bool { return f.ModeRadius > 0 || f.Core > 0 && f.Aperture > 0 }

// Mode returns the mode-field radius at a vacuum wavelength: the stated one at any wavelength, or that of the
// core by Marcuse's formula.
func (f Fibre) Mode(l quantity.Length) (quantity.Length, error) {
	if f.ModeRadius > 0 {
		return f.ModeRadius, nil
	}
	w, err := beam.MarcuseRadius(float64(f.Core), f.Aperture, float64(l))
	return quantity.Length(w), err
}

// standardFibre is the phase index of a fibre's mode when none is stated: 1.44627 at 1550 nm and 1.44961 at 1310 nm for
// a step-index core of 4.1 um and a relative index difference of 0.36 % in fused silica (Malitson), by the
// characteristic equation of its LP01 mode. The 1.468 of data sheets is the group index of such a mode, which times
// pulses.
const standardFibre = 1.446

// PhaseIndex returns the phase index of the mode.
func (f Fibre) PhaseIndex() float64 {
	if f.Index == 0 {
		return standardFibre
	}
	return f.Index
}

// Set returns the lens as alignment at a wavelength sets it: its waist midway. A collimator with a stated waist has
// no lens to set.
func (c Collimator) Set(at quantity.Length) (beam.Lens, error) {
	if c.Waist > 0 {
		return beam.Lens{}, nil
	}
	w, err := c.Fibre.Mode(at)
	if err != nil {
		return beam.Lens{}, fmt.Errorf("collimator: %w", err)
	}
	lens, err := beam.Collimate(float64(c.Focal), float64(w), float64(at), float64(c.WorkingDistance)/2)
	if err != nil {
		return beam.Lens{}, fmt.Errorf("collimator: %w", err)
	}
	return lens, nil
}

// Beam returns the waist at a wavelength and its distance in front of the lens face, in metres.
func (c Collimator) Beam(lens beam.Lens, l quantity.Length) (waist, distance float64, err error) {
	if c.Waist > 0 {
		return float64(c.Waist), float64(c.WorkingDistance) / 2, nil
	}
	w, err := c.Fibre.Mode(l)
	if err != nil {
		return 0, 0, fmt.Errorf("collimator: %w", err)
	}
	waist, distance = lens.Waist(float64(w), float64(l))
	return waist, distance, nil
}

// FerruleReturn returns the share of the power in a fibre's mode of vacuum wavelength l that the fibre's end face sends
// back into it: R exp(-(pi w n 2 theta/l)^2) for an end face of reflectance R at the angle theta, in rad, a mode of
// radius w and phase index n. The face turns the mode by 2 theta, and that is the tilt term of Joyce and DeLoach (1984)
// in the medium of index n. Light that comes from outside and is in the mode that the fibre takes up is sent back with
// the same share: refraction tilts it by n theta.
func (c Collimator) FerruleReturn(l quantity.Length) float64 {
	w, err := c.Fibre.Mode(l)
	if err != nil || c.FerruleReflectance == 0 {
		return 0
	}
	x := math.Pi * float64(w) * c.Fibre.PhaseIndex() * 2 * float64(c.Ferrule) / float64(l)
	return c.FerruleReflectance * math.Exp(-x*x)
}

// Pass returns the share of the power that the pair passes at its best: the stated loss, but no more than the fibre
// ends and lens faces let through that send light back.
func (c Collimator) Pass() float64 {
	one := (1 - c.FerruleReflectance) * (1 - c.FacetReflectance)
	return min(quantity.Ratio(-c.Loss), one*one)
}

// CollimatorName is how parameter paths call the pair.
const CollimatorName = "beam"

var collimatorFields = []field[Collimator]{
	{"waist", "um", func(c *Collimator) *float64 { return (*float64)(&c.Waist) }},
	{"focal_length", "mm", func(c *Collimator) *float64 { return (*float64)(&c.Focal) }},
	{"working_distance", "mm", func(c *Collimator) *float64 { return (*float64)(&c.WorkingDistance) }},
	{"loss", "dB", func(c *Collimator) *float64 { return &c.Loss }},
}

// Parameters lists waist or focal length, working distance and loss.
func (c Collimator) Parameters() []Parameter {
	if c.Waist > 0 {
		return append(parameters(&c, collimatorFields[:1]), parameters(&c, collimatorFields[2:])...)
	}
	return parameters(&c, collimatorFields[1:])
}

// With returns a copy with one parameter changed, checked.
func (c Collimator) With(name string, v quantity.Quantity) (Collimator, error) {
	if err := set(&c, collimatorFields, CollimatorName, name, v); err != nil {
		return c, err
	}
	return c, c.Check()
}

// Check reports a pair that cannot be made.
func (c Collimator) Check() error {
	switch {
	case c.Waist > 0 && c.Focal > 0:
		return fmt.Errorf("collimator: give a waist, or a fibre and a focal length, not both")
	case !(c.Waist > 0) && !(c.Focal > 0):
		return fmt.Errorf("collimator: waist %g um must be positive, or a fibre and a focal length given",
			float64(c.Waist)*1e6)
	case c.Focal > 0 && !c.Fibre.known():
		return fmt.Errorf("collimator: a focal length needs a fibre: fibre(mode_field_diameter=10.4*um)")
	case !(c.WorkingDistance >= 0):
		return fmt.Errorf("collimator: working distance %g mm must not be negative", float64(c.WorkingDistance)*1e3)
	case !(c.Loss >= 0):
		return fmt.Errorf("collimator: loss %g dB must not be negative", c.Loss)
	case c.FerruleReflectance > 0 && !c.Fibre.known():
		return fmt.Errorf("collimator: a reflecting fibre end needs a fibre: how much of a tilted reflection it " +
			"takes up depends on its mode")
	case !(math.Abs(float64(c.Ferrule)) < math.Pi/4 && math.Abs(float64(c.Facet)) < math.Pi/4):
		return fmt.Errorf("collimator: the angles of the fibre's end face, %.6g deg, and of the lens face, %.6g deg, "+
			"must be less than 45 deg",
			float64(c.Ferrule/quantity.Degree), float64(c.Facet/quantity.Degree))
	case !(c.Fibre.Index == 0 || c.Fibre.Index > 1 && c.Fibre.Index < 4):
		return fmt.Errorf("collimator: the fibre's phase index %g must lie between 1 and 4", c.Fibre.Index)
	case !(c.FerruleReflectance >= 0 && c.FerruleReflectance < 1 && c.FacetReflectance >= 0 && c.FacetReflectance < 1):
		return fmt.Errorf("collimator: reflectances %g and %g must lie between 0 and 1",
			c.FerruleReflectance, c.FacetReflectance)
	}
	return c.Pigtails.check()
}
