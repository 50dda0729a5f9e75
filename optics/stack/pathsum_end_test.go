package stack

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/optics/ray"
)

// arrival is one path at its end, as the receiving mode sees it.
type arrival struct {
	*path
	amplitude complex128 // overlap with the receiving mode, absorption and phase included
	delay     float64    // group delay, s
	course    beam.Course
	base      r3.Vec // the base ray at departure, when it is not that of the shot
}

// shoot makes ready to send light in one direction at one wavelength.
func (s *Stack) shoot(c *course, d Direction, l quantity.Length, pose Pose, arrived func(*arrival)) *pathSum {
	t := &pathSum{arrived: arrived}
	t.aim(s, c, d, l, pose)
	t.visit = t.receive
	return t
}

// along traces all paths, told by a base ray of the given direction.
func (s *pathSum) along(base r3.Vec) {
	s.base = base
	axis := s.chief()
	s.run(s.from.r, base, ray.Turn(s.from.x, axis, base), ray.Turn(s.from.y, axis, base))
}

// receive turns a path's end into an amplitude. Where the path itself deviates, so that its own weight in
// the overlap integral lies at another ray than the base ray, it is traced once more along that ray.
func (s *pathSum) receive(p *path) {
	a := s.meet(p)
	for range retraces {
		off := a.course.Sent.Add(a.course.Waiting).Scale(0.5)
		if !s.own || off.Dot(off) < ownRay*ownRay || power(a.amplitude) < negligible*negligible {
			break
		}
		base := s.base
		if a.base != (r3.Vec{}) {
			base = a.base
		}
		b := s.retrace(p, r3.Unit(r3.Add(base, r3.Vec{X: off.X, Y: off.Y})))
		if b == nil {
			break // total reflection for that ray: the first one stands
		}
		a = b
	}
	s.arrived(a)
}

// retrace follows the one path p again along another base ray.
func (s *pathSum) retrace(p *path, base r3.Vec) *arrival {
	t := *s
	var found *arrival
	t.only = p.rays[:p.count]
	t.returned = nil
	t.visit = func(q *path) {
		if q.bounce() == p.bounce() {
			found = t.meet(q)
			found.base = base
		}
	}
	t.along(base)
	return found
}

// meet works out the overlap of a path's end with the receiving mode.
func (s *pathSum) meet(p *path) *arrival {
	d := float64(s.step)
	a := &arrival{path: p}
	a.course = beam.Course{
		Reduced: p.space,
		Sent:    flat(r3.Sub(s.chief(), s.base)),
		Base:    flat(p.wave.N),
		Waiting: flat(r3.Sub(r3.Scale(d, s.to.axis), p.wave.N)),
		Offset:  flat(r3.Sub(s.to.r, p.r)),
	}
	if !s.begun {
		s.origin, s.begun = p.phase, true
	}
	a.course.Exponent = complex(-p.loss, s.k*(p.phase-s.origin))
	a.amplitude = s.coupler.Overlap(&a.course) * complex(s.loss*s.passed(&a.course, p.stops), 0)
	a.delay = p.delay + a.course.Base.Dot(a.course.Offset)/quantity.LightSpeed
	return a
}

// received returns the polarization part of an arrival at a port for one mode, launched (Ex, Ey) to received, of
// light that travels in direction d.
func (s *port) received(p *path, mode int, d Direction) polar.Matrix {
	axis := r3.Scale(float64(d), s.axis)
	var m polar.Matrix
	for k := range 2 {
		v := p.field[mode][k].turn(p.wave.N, axis)
		m[0][k], m[1][k] = v.dot(s.x), v.dot(s.y)
	}
	return m
}

// heap gathers arrivals into groups. Arrivals of one depolarization mode interfere, within a group in full; modes do
// not.
type heap struct {
	shot   *pathSum
	fwhm   float64 // linewidth of the source, Hz
	direct group   // the light that was not reflected; with a linewidth of zero, all of it
	ghosts []group
	origin float64 // delay of the first arrival
	begun  bool
}

func (h *heap) add(a *arrival) {
	if !h.begun {
		h.origin, h.begun = a.delay, true
	}
	into := &h.direct
	if h.fwhm > 0 && a.leg != straight {
		into = h.ghost(a.bounce())
	}
	for m := range h.shot.modes {
		j := h.shot.to.received(a.path, m, Direction(h.shot.step)).Scale(a.amplitude)
		into.add(m, &j, a.delay-h.origin)
		into.weigh(&j, a.delay-h.origin)
	}
}

// ghost returns the group of a double bounce.
func (h *heap) ghost(id int) *group {
	i := slices.IndexFunc(h.ghosts, func(g group) bool { return g.id == id })
	if i < 0 {
		i = len(h.ghosts)
		h.ghosts = append(h.ghosts, group{id: id})
	}
	return &h.ghosts[i]
}

// evaluate sends light through a course already laid and tuned: the path sum, which tracer.evaluate must
// agree with.
func (s *Stack) evaluate(c *course, d Direction, l quantity.Length) Point {
	h := &heap{fwhm: s.fwhm()}
	h.shot = s.shoot(c, d, l, s.poseAt(c.at), h.add)
	h.shot.own = true
	h.shot.along(h.shot.halfway())
	p := total(&h.direct, h.ghosts, h.shot.modes, h.fwhm)
	p.fibres(&s.spec.Beam.Pigtails, d, &h.direct, h.ghosts, h.shot.modes, h.fwhm)
	if s.ghosts == GhostsRipple {
		p.Ripple = ripple(&h.direct, h.ghosts, h.shot.modes)
	}
	return p
}

// meetAgain is the amplitude with which light sent back arrives in the mode that waits for it.
func (s *pathSum) meetAgain(p *path) complex128 {
	c := s.returning(p)
	return s.coupler.Overlap(&c) * complex(s.loss*s.passed(&c, p.stops), 0)
}

// returning is what a path that is sent back has done to the beam.
func (s *pathSum) returning(p *path) beam.Course {
	d := float64(s.step)
	return beam.Course{
		Reduced:  p.space,
		Sent:     flat(r3.Sub(s.chief(), s.base)),
		Base:     flat(p.wave.N),
		Waiting:  flat(r3.Sub(r3.Scale(-d, s.home.axis), p.wave.N)),
		Offset:   flat(r3.Sub(s.home.r, p.r)),
		Exponent: complex(-p.loss, s.k*math.Mod(p.phase, 2*math.Pi/s.k)),
	}
}

// sentBack is the power that each face, the last of them the facet behind, sends back into the launching mode, by
// launch polarization.
func (s *Stack) sentBack(c *course, d Direction, l quantity.Length) []polar.Gram {
	t := s.shoot(c, d, l, s.poseAt(c.at), nil)
	t.ghosts = false
	t.visit = func(*path) {}
	t.facet = t.to.facet(s.spec.Beam.Facet, s.spec.Beam.FacetReflectance)
	sums := make([][allModes]polar.Matrix, len(c.faces)+1)
	t.returned = func(p *path) {
		for m := range t.modes {
			if uint8(m)&^p.films == 0 { // else a copy of a mode that counts
				sums[p.first][m] = sums[p.first][m].Add(t.from.received(p, m, -d).Scale(t.meetAgain(p)))
			}
		}
	}
	t.along(t.chief())
	all := make([]polar.Gram, len(sums))
	for i := range sums {
		for m := range t.modes {
			all[i].Add(sums[i][m])
		}
	}
	return all
}
