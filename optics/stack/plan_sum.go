package stack

import (
	"math"

	"wedgework/optics/polar"
)

// sums is what the paths of a plan add up to.
type sums struct {
	incoherent bool // double bounces add in power
	coherent   [maxModes]polar.Matrix
	slope      polar.Matrix // dM/dw of mode 0
	origin     float64      // delay of the first path
	begun      bool
	ids        [maxPairs]int
	apart      [maxPairs][maxModes]polar.Matrix
	pairs      int
}

// maxPairs is how many pairs of faces can bounce light: every pair among the parallel faces of two stages.
const maxPairs = maxFaces * (maxFaces - 1) / 2

func (s *sums) reset(incoherent bool) {
	s.incoherent, s.begun, s.pairs = incoherent, false, 0
	s.coherent = [maxModes]polar.Matrix{}
	s.slope = polar.Matrix{}
}

func (s *sums) add(h *hit, modes int) {
	if !s.begun {
		s.origin, s.begun = h.delay, true
	}
	into := &s.coherent
	if s.incoherent && h.bounce > 0 {
		into = s.pair(h.bounce)
	}
	slope := into == &s.coherent
	late := h.delay - s.origin
	for m := range modes {
		for r := range 2 {
			for k := range 2 {
				v := h.jones[m][r][k] * h.amplitude
				into[m][r][k] += v
				if slope && m == 0 { // i times the delay
					s.slope[r][k] += complex(-late*imag(v), late*real(v))
				}
			}
		}
	}
}

func (s *sums) pair(id int) *[maxModes]polar.Matrix {
	for i := range s.pairs {
		if s.ids[i] == id {
			return &s.apart[i]
		}
	}
	s.ids[s.pairs], s.apart[s.pairs] = id, [maxModes]polar.Matrix{}
	s.pairs++
	return &s.apart[s.pairs-1]
}

func (s *sums) point(modes int) Point {
	var g polar.Gram
	for m := range modes {
		g.Add(s.coherent[m])
		for i := range s.pairs {
			g.Add(s.apart[i][m])
		}
	}
	p := Point{H: g, M: s.coherent[0]}
	p.T1, p.T2 = g.Extremes()
	var ok bool
	if p.Slow, p.Fast, ok = polar.Delays(s.coherent[0], s.slope); !ok {
		p.Slow, p.Fast = math.NaN(), math.NaN()
	}
	return p
}
