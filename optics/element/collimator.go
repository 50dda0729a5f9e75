package element

import (
	"fmt"

	"wedgework/optics/quantity"
)

// Collimator is a matched pair of fibre collimators, one at each end of a stack. Each makes the same
// waist; with nothing between them the two waists coincide midway.
type Collimator struct {
	Waist           quantity.Length // radius at 1/e^2 of the intensity, in air
	WorkingDistance quantity.Length // lens face to lens face
	Loss            float64         // dB, of the pair by itself at its best: lens aberration, fibre facets
}

// CollimatorName is how parameter paths call the pair.
const CollimatorName = "beam"

var collimatorFields = []field[Collimator]{
	{"waist", "um", func(c *Collimator) *float64 { return (*float64)(&c.Waist) }},
	{"working_distance", "mm", func(c *Collimator) *float64 { return (*float64)(&c.WorkingDistance) }},
	{"loss", "dB", func(c *Collimator) *float64 { return &c.Loss }},
}

// Parameters lists waist, working distance and loss.
func (c Collimator) Parameters() []Parameter { return parameters(&c, collimatorFields) }

// With returns a copy with one parameter changed.
func (c Collimator) With(name string, v quantity.Quantity) (Collimator, error) {
	if err := set(&c, collimatorFields, CollimatorName, name, v); err != nil {
		return c, err
	}
	return c, c.Check()
}

// Check reports a pair that cannot be made.
func (c Collimator) Check() error {
	switch {
	case !(c.Waist > 0):
		return fmt.Errorf("collimator: waist %g um must be positive", float64(c.Waist)*1e6)
	case !(c.WorkingDistance >= 0):
		return fmt.Errorf("collimator: working distance %g mm must not be negative", float64(c.WorkingDistance)*1e3)
	case !(c.Loss >= 0):
		return fmt.Errorf("collimator: loss %g dB must not be negative", c.Loss)
	}
	return nil
}
