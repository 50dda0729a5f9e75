package stack

import (
	"fmt"
	"math"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// StepDGD returns the differential group delay in seconds that an instrument finds which compares the Jones
// matrices of two wavelengths (polar.StepPhase): what a DGD measured with that step is to be compared with. Point.DGD
// is its limit for a step towards zero. A step over which the principal states turn more than pi apart folds, as
// it does in the instrument.
func (s *Stack) StepDGD(d Direction, a, b quantity.Length, t quantity.Temperature) (float64, error) {
	if a == b {
		return 0, fmt.Errorf("a step needs two different wavelengths, got %g nm twice", float64(a)*1e9)
	}
	var p [2]Point
	if err := s.row(d, []quantity.Length{a, b}, t, p[:]); err != nil {
		return 0, err
	}
	phase, ok := polar.StepPhase(p[0].M, p[1].M)
	if !ok {
		return math.NaN(), nil // one state of polarization does not get through
	}
	return phase / (2 * math.Pi * quantity.LightSpeed * math.Abs(1/float64(a)-1/float64(b))), nil
}
