package stack

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/face"
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

// check reports a direction that is neither, such as the zero value.
func (d Direction) check() error {
	if d != Forward && d != Backward {
		return fmt.Errorf("a direction is stack.Forward or stack.Backward, not %d", int8(d))
	}
	return nil
}

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

// facet returns the lens face at a port: a plane through its point whose normal stands at an angle to the axis, towards
// the port's x.
func (p *port) facet(angle quantity.Angle, reflectance float64) element.Face {
	s, c := math.Sincos(float64(angle))
	n := r3.Add(r3.Scale(c, p.axis), r3.Scale(s, p.x))
	return element.Face{Z: p.r.Z + (n.X*p.r.X+n.Y*p.r.Y)/n.Z, Normal: n, Reflectance: reflectance}
}

// shot is light sent through a course in one direction, at one wavelength.
type shot struct {
	*course
	wavelength float64 // vacuum, m
	step       int     // +1 forward, -1 backward
	zStart     float64
	zEnd       float64
	ghosts     bool
	from, to   port
	home       port   // at which light that is sent back is received: that it was launched from, or one beside it
	base       r3.Vec // unit vector of the base ray at departure
	coupler    beam.Coupler
	k          float64 // 2 pi over the vacuum wavelength, 1/m
	loss       float64 // amplitude of the collimator pair itself
	origin     float64 // phase of the first arrival, taken off every one to keep digits
	begun      bool
}

// aim makes ready to send light through a course that is tuned to the wavelength.
func (s *shot) aim(k *Stack, c *course, d Direction, l quantity.Length, pose Pose) {
	s.course, s.wavelength, s.step = c, float64(l), int(d)
	s.ghosts = k.ghosts != GhostsNone
	s.from, s.to = newPort(k.zIn, k.launch), newPort(k.zOut, pose)
	if d == Backward {
		s.from, s.to = s.to, s.from
	}
	s.home = s.from
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

// A path's amplitude is worked out about the base ray, and again about the path's own ray where that differs.
const (
	retraces   = 3    // times at most
	ownRay     = 2e-5 // rad: nearer to its own ray a path is right to 1.5e-4 of the light (9,000 random units)
	negligible = 1e-9 // amplitude of a path not worth another look: -180 dB
)

// scatter is what face i does to light that travels along or against z, told by the tangential component of N.
func (s *shot) scatter(i, step int, in, out *element.Medium, tangent, normal r3.Vec) (face.Scattering, bool) {
	side := func(m *element.Medium) face.Side {
		return face.Side{Index: m.Index, Group: m.Group, Crystal: m.Crystal}
	}
	layers := s.faces[i].Layers
	if step < 0 {
		layers = s.faces[i].Reversed
	}
	return face.Scatter(side(in), layers, side(out), tangent, normal, quantity.Length(s.wavelength))
}

// reflected is the amplitude that a coated face sends back. Its sign is that of a bare face, minus where the light
// comes from the thinner medium: the two sides of a face differ in sign (Stokes), or double bounces over several
// faces would not conserve energy.
func reflected(f *element.Face, in, out *element.Medium) float64 {
	size := math.Sqrt(f.Reflectance)
	if density(in) < density(out) {
		return -size
	}
	return size
}

// density is the index of a medium, of a crystal the ordinary one.
func density(m *element.Medium) float64 {
	if m.Crystal != nil {
		return m.Crystal.O
	}
	return m.Index
}

// facing is the sign of a ray's amplitude behind a reflection in a crystal that keeps the field along the face: the
// unit field that the amplitude of an ordinary or extraordinary wave is stated along may point the other way once the
// wave has turned round.
func facing(u *ray.Uniaxial, kind byte, tangent, normal r3.Vec) float64 {
	there, ok := u.Ordinary(tangent, normal)
	back, also := u.Ordinary(tangent, r3.Scale(-1, normal))
	if !ok || !also {
		return 1 // no ordinary wave: the sign has nothing to be seen against
	}
	v, w := u.OrdinaryField(there.N), u.OrdinaryField(back.N)
	if kind == 'e' {
		v, w = r3.Cross(there.N, v), r3.Cross(back.N, w)
	}
	return math.Copysign(1, r3.Dot(v, w))
}

// airDelay is the group delay of air, s/m.
var airDelay = func() float64 {
	w, _ := ray.Refract(r3.Vec{}, r3.Vec{Z: 1}, element.Air.Index, element.Air.Group)
	return w.Delay
}()

// flat returns the transverse components of v.
func flat(v r3.Vec) beam.Vec { return beam.Vec{X: v.X, Y: v.Y} }

func power(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }
