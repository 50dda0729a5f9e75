package stack

import (
	"fmt"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// Heated returns a copy of the stack whose rotators are as warm as the light launched makes them, each taken to receive
// all of its power in one beam of the waist of the collimators: an upper bound, most of it when most is true, and the
// least that the constants of the materials allow when it is not. rim is the radius at which the parts have the
// temperature of their mount. What a thermal lens takes is not in the losses of the copy. It is an error for a stack
// without a rotator and where HeatingOf is one.
func (s *Stack) Heated(power float64, rim quantity.Length, cut element.Cut, most bool) (*Stack, error) {
	spec := s.Spec()
	light := element.Light{Power: power, Wavelength: spec.AlignAt, Waist: quantity.Length(s.waist()), Rim: rim,
		Temperature: spec.AlignTemperature, Cut: cut}
	rotators := 0
	for i, e := range spec.Elements {
		if e.Kind() != "rotator" {
			continue
		}
		warm, err := element.Heated(e, light, most)
		if err != nil {
			return nil, err
		}
		spec.Elements[i] = warm
		rotators++
	}
	if rotators == 0 {
		return nil, fmt.Errorf("the stack has no rotator that light could heat")
	}
	c, err := New(spec)
	if err != nil {
		return nil, err
	}
	c.ghosts, c.width = s.ghosts, s.width
	return c, nil
}
