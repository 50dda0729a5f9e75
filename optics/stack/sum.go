package stack

import "wedgework/optics/polar"

// sums is what the paths of a tracer add up to.
type sums struct {
	fwhm   float64 // linewidth of the source, Hz; 0: every path interferes with every other
	direct group   // the light that was not reflected; with a linewidth of zero, all of it
	origin float64 // delay of the first path
	begun  bool
	ghosts [maxPairs]group
	pairs  int
}

// maxPairs is how many pairs of faces can bounce light: every pair among the parallel faces of two stages.
const maxPairs = maxFaces * (maxFaces - 1) / 2

func (s *sums) reset(fwhm float64) {
	s.fwhm, s.begun, s.pairs = fwhm, false, 0
	s.direct = group{}
}

func (s *sums) add(h *hit, modes int) {
	if !s.begun {
		s.origin, s.begun = h.delay, true
	}
	into := &s.direct
	if s.fwhm > 0 && h.bounce > 0 {
		into = s.pair(h.bounce)
	}
	for m := range modes {
		j := h.jones[m].Scale(h.amplitude)
		into.add(m, &j, h.delay-s.origin)
		if s.fwhm > 0 {
			into.weigh(&j, h.delay-s.origin)
		}
	}
}

func (s *sums) pair(id int) *group {
	for i := range s.pairs {
		if s.ghosts[i].id == id {
			return &s.ghosts[i]
		}
	}
	s.ghosts[s.pairs] = group{id: id}
	s.pairs++
	return &s.ghosts[s.pairs-1]
}

func (s *sums) point(modes int) Point { return total(&s.direct, s.ghosts[:s.pairs], modes, s.fwhm) }

func (s *sums) ripple(modes int) polar.Ripple { return ripple(&s.direct, s.ghosts[:s.pairs], modes) }
