package stack

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/optics/ray"
)

// Direction of travel.
type Direction int8

// Forward light goes along +z, from the launching collimator to the receiving one.
const (
	Forward  Direction = +1
	Backward Direction = -1
)

// String returns "forward" or "backward".
func (d Direction) String() string {
	if d == Backward {
		return "backward"
	}
	return "forward"
}

// Pose is where the receiving collimator stands: its centre in the plane of its lens face, in metres, and
// the transverse components of the unit vector along its axis, in radians for a small tilt.
type Pose struct {
	Offset beam.Vec
	Tilt   beam.Vec
}

// port is one end of the stack: a point, an axis in the direction of +z, and the pair of unit vectors
// that its Jones vectors are stated in.
type port struct {
	r, axis, x, y r3.Vec
}

func newPort(z float64, p Pose) port {
	axis := r3.Vec{X: p.Tilt.X, Y: p.Tilt.Y, Z: math.Sqrt(1 - p.Tilt.Dot(p.Tilt))}
	up := r3.Vec{Z: 1}
	return port{
		r:    r3.Vec{X: p.Offset.X, Y: p.Offset.Y, Z: z},
		axis: axis,
		x:    ray.Turn(r3.Vec{X: 1}, up, axis),
		y:    ray.Turn(r3.Vec{Y: 1}, up, axis),
	}
}

// arrival is one path at its end, as the receiving mode sees it.
type arrival struct {
	*path
	amplitude complex128 // overlap with the receiving mode, absorption and phase included
	delay     float64    // group delay, s
	course    beam.Course
	base      r3.Vec // the base ray at departure, when it is not that of the shot
}

// shot is light sent through a course in one direction.
type shot struct {
	tracer
	from, to port
	base     r3.Vec // unit vector of the base ray at departure
	coupler  beam.Coupler
	k        float64
	loss     float64 // amplitude of the collimator pair itself
	origin   float64 // phase of the first arrival, taken off every one to keep digits
	begun    bool
	own      bool // trace a path that deviates again along its own ray
	arrived  func(*arrival)
}

// shoot makes ready to send light in one direction at one wavelength.
func (s *Stack) shoot(c *course, d Direction, l quantity.Length, pose Pose, arrived func(*arrival)) *shot {
	shot := &shot{arrived: arrived}
	shot.aim(s, c, d, l, pose)
	shot.tracer.visit = shot.receive
	return shot
}

// aim sets everything but who receives the light.
func (s *shot) aim(k *Stack, c *course, d Direction, l quantity.Length, pose Pose) {
	s.tracer.course, s.wavelength, s.step = c, float64(l), int(d)
	s.ghosts = k.ghosts != GhostsNone
	s.from, s.to = newPort(k.zIn, Pose{}), newPort(k.zOut, pose)
	if d == Backward {
		s.from, s.to = s.to, s.from
	}
	s.zStart, s.zEnd = s.from.r.Z, s.to.r.Z
	s.k = 2 * math.Pi / float64(l)
	s.loss = k.pass
	s.coupler = beam.Coupler{K: s.k, SentW: c.waist, SentZ: c.ahead, WaitingW: c.waist, WaitingZ: c.ahead}
	s.begun = false
}

// halfway returns the base ray midway between the axes of the two ports. There the overlap integral has
// its weight when the path itself does not deviate, and forward and backward light then share their
// rays, which is what makes the two directions transposes of each other without a rotator.
func (s *shot) halfway() r3.Vec {
	return r3.Unit(r3.Scale(float64(s.step), r3.Add(s.from.axis, s.to.axis)))
}

// chief returns the base ray along the axis of the port it leaves: the ray a drawing shows.
func (s *shot) chief() r3.Vec { return r3.Scale(float64(s.step), s.from.axis) }

// along traces all paths, told by a base ray of the given direction.
func (s *shot) along(base r3.Vec) {
	s.base = base
	axis := s.chief()
	s.run(s.from.r, base, ray.Turn(s.from.x, axis, base), ray.Turn(s.from.y, axis, base))
}

// receive turns a path's end into an amplitude. Where the path itself deviates, so that its own weight in
// the overlap integral lies at another ray than the base ray, it is traced once more along that ray.
func (s *shot) receive(p *path) {
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

const (
	retraces   = 3
	ownRay     = 2e-5 // rad: nearer than this to its own ray a path's amplitude is right to 1e-9
	negligible = 1e-9 // amplitude of a path not worth another look: -180 dB
)

// retrace follows the one path p again along another base ray.
func (s *shot) retrace(p *path, base r3.Vec) *arrival {
	t := *s
	var found *arrival
	t.only = p.rays[:p.count]
	t.returned = nil
	t.tracer.visit = func(q *path) {
		if q.bounce() == p.bounce() {
			found = t.meet(q)
			found.base = base
		}
	}
	t.along(base)
	return found
}

// meet works out the overlap of a path's end with the receiving mode.
func (s *shot) meet(p *path) *arrival {
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

// jones returns the polarization part of an arrival at a port for one mode, launched (Ex, Ey) to received, of
// light that travels in direction d.
func (s *port) jones(p *path, mode int, d Direction) polar.Matrix {
	axis := r3.Scale(float64(d), s.axis)
	var m polar.Matrix
	for k := range 2 {
		v := p.field[mode][k].turn(p.wave.N, axis)
		m[0][k], m[1][k] = v.dot(s.x), v.dot(s.y)
	}
	return m
}
