package element

import (
	"fmt"
	"math"

	"wedgework/optics/quantity"
)

// FibreAxis is one of the two principal axes of a polarization-maintaining fibre.
type FibreAxis string

// The axes of a fibre.
const (
	SlowAxis FibreAxis = "slow" // of the greater index: the one through the stress rods
	FastAxis FibreAxis = "fast"
)

// Pigtails are the polarization-maintaining fibres of a pair of collimators, and the light that is sent through them.
// The zero value is a pair of ordinary fibres, which have no axes.
type Pigtails struct {
	Ends   [2]Pigtail // of the collimator that launches forward light, and of the one that receives it
	Launch FibreAxis  // the axis along which light is launched, and along which it should leave; "" for SlowAxis
}

// Pigtail is one of them.
type Pigtail struct {
	Axis quantity.Angle // azimuth of the key, rad, from +x towards +y, in the device's frame at either end
	Key  FibreAxis      // which axis of the fibre the key marks; "" for SlowAxis

	// Extinction is the extinction ratio of the fibre by itself, with the light launched exactly along one axis: the
	// power ratio, above 1, of that axis to the other at its end. +Inf for a fibre that puts nothing into the other
	// axis, 0 for a fibre without axes.
	Extinction float64
}

// Known reports whether the fibres have axes.
func (p *Pigtails) Known() bool { return p.Ends[0].Extinction > 0 }

// Launched returns the axis that light is launched along.
func (p *Pigtails) Launched() FibreAxis {
	if p.Launch == "" {
		return SlowAxis
	}
	return p.Launch
}

// Slow returns the azimuth of the slow axis, in radians.
func (p Pigtail) Slow() float64 {
	if p.Key == FastAxis {
		return float64(p.Axis) + math.Pi/2
	}
	return float64(p.Axis)
}

// Crossed returns the share of the power, from 0 to 1/2, that the fibre puts into the other axis: 1/(1+ER). Over a
// fibre much longer than what its two axes need to lose their coherence it adds in power.
func (p Pigtail) Crossed() float64 { return 1 / (1 + p.Extinction) }

// CollimatorNames are how parameter paths call the two collimators by themselves: that which launches forward light and
// that which receives it. They have parameters only with polarization-maintaining fibres.
var CollimatorNames = [2]string{"collimator1", "collimator2"}

var pigtailFields = []field[Pigtail]{
	{"axis", "deg", func(p *Pigtail) *float64 { return (*float64)(&p.Axis) }},
}

// Parameters lists the axis, and the extinction ratio where it is finite; nothing of an ordinary fibre.
func (p Pigtail) Parameters() []Parameter {
	if p.Extinction == 0 {
		return nil
	}
	all := parameters(&p, pigtailFields)
	if math.IsInf(p.Extinction, 1) {
		return all
	}
	return append(all, Parameter{Path: "extinction", Value: quantity.Of(quantity.Decibels(p.Extinction), "dB")})
}

// WithPigtail returns a copy of the pair with one parameter of one of its fibres changed, checked; end is 0 or 1.
func (c Collimator) WithPigtail(end int, name string, v quantity.Quantity) (Collimator, error) {
	p, label := &c.Pigtails.Ends[end], CollimatorNames[end]
	var err error
	if name == "extinction" {
		p.Extinction, err = extinction(label, v)
	} else {
		err = set(p, pigtailFields, label, name, v)
	}
	if err != nil {
		return c, err
	}
	return c, c.Check()
}

// check reports fibres that cannot be.
func (p *Pigtails) check() error {
	a, b := p.Ends[0].Extinction, p.Ends[1].Extinction
	if (a == 0) != (b == 0) {
		return fmt.Errorf("collimator: one fibre has axes and the other has none: give both or neither")
	}
	if !p.Launch.known() {
		return fmt.Errorf("collimator: light is launched along \"slow\" or \"fast\", not %q", p.Launch)
	}
	for i, e := range p.Ends {
		switch {
		case e.Extinction != 0 && !(e.Extinction > 1):
			return fmt.Errorf("collimator: the extinction ratio of the fibre of %s, %.4g dB, must be positive",
				CollimatorNames[i], quantity.Decibels(e.Extinction))
		case !e.Key.known():
			return fmt.Errorf("collimator: the key of %s marks \"slow\" or \"fast\", not %q", CollimatorNames[i], e.Key)
		case math.IsNaN(float64(e.Axis)) || math.IsInf(float64(e.Axis), 0):
			return fmt.Errorf("collimator: the axis of %s must be a finite angle", CollimatorNames[i])
		}
	}
	return nil
}

// known reports whether an axis is one, or left to its default.
func (a FibreAxis) known() bool { return a == "" || a == SlowAxis || a == FastAxis }
