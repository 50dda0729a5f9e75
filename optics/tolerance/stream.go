package tolerance

import "math/bits"

// Stream is random numbers told by what they are for, a unit and a parameter, and not by what was drawn before: any
// part of a study draws what the whole would have drawn there. Each parameter has a sequence of its own, that of the
// generator SplitMix64 from a start that the seed gives (G. L. Steele, D. Lea and C. H. Flood, OOPSLA 2014).
type Stream struct{ starts []uint64 }

// NewStream returns the numbers of a seed for some parameters.
func NewStream(seed uint64, parameters int) Stream {
	s := Stream{make([]uint64, parameters)}
	for j := range s.starts {
		// The output of one generator starts the others, so that sequences neither touch nor mirror each other.
		s.starts[j] = splitMix(splitMix(seed) ^ bits.Reverse64(uint64(j+1)))
	}
	return s
}

// At returns a number of a parameter and a unit, evenly distributed between 0 and 1, both excluded.
func (s Stream) At(unit, parameter int) float64 {
	z := splitMix(s.starts[parameter] + uint64(unit)*gamma)
	return (float64(z>>11) + 0.5) * 0x1p-53
}

// Fill sets the numbers of a parameter in units in a row.
func (s Stream) Fill(from, parameter int, into []float64) {
	at := s.starts[parameter] + uint64(from)*gamma
	for i := range into {
		into[i] = (float64(splitMix(at)>>11) + 0.5) * 0x1p-53
		at += gamma
	}
}

// gamma is the step of the generator: the odd number nearest 2^64 over the golden ratio.
const gamma = 0x9e3779b97f4a7c15

// splitMix is the number that follows state z.
func splitMix(z uint64) uint64 {
	z += gamma
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}
