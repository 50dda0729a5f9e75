package stack

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/optics/ray"
)

// plan evaluates a stack without allocation: the same sum over paths as trace.go and send.go, laid out for
// millions of points. Those stay its reference: a test holds the two together, and a change of the physics is
// made there first.
//
// What differs is how light is written down. Between crystals its polarization is a pair of components (s, p)
// in the plane of incidence of a face: coated faces leave the pair as it is, and so does any number of parallel
// ones; a rotator turns it, and only where two faces are not parallel is it referred to a new plane. Behind the
// first crystal everything on a path has one polarization, so that launched x and y differ by a factor: a row.
//
// A plan belongs to one goroutine.
type plan struct {
	shot
	states [planDepth]state
	top    int
	stops  [planDepth]stop // apertures on the way, as states are
	passes int
	sums   sums
	nested bool // tracing one path again along its own ray
	wanted int  // its bounce
	found  bool
	hit    hit
	room   course // what a row lays out, kept for the next

	gathering bool // the ends of paths are kept instead of added up
	ends      []collectable
}

// planDepth is how many states can be on the way at once. A double bounce passes every face at most three times and may
// fork at each; each of its two reflections forks up to four times more. A path that is traced again along its own ray
// does so on top of the states of the first trace, once.
const planDepth = 2 * (3*maxFaces + 10)

// head is what a path on its way is but for its light, as path is.
type head struct {
	r, n, flow                r3.Vec  // where, N, and the direction of energy
	hat                       r3.Vec  // unit vector along N, in an isotropic medium
	s                         r3.Vec  // unit vector of the first component; the second is hat x s
	plane                     r3.Vec  // normal of the face whose plane of incidence they refer to
	perMetre, perZ            float64 // group delay per metre of way, diffraction per metre of z
	phase, delay, space, loss float64
	stops                     *stop

	columns int

	kind          byte
	rays          [maxRays]byte
	count         int
	films         uint8
	step          int
	leg           leg
	first, second int
}

// mode is the light of one depolarization mode.
type mode struct {
	e     [2][2]complex128 // [column][component]
	row   [2]complex128    // [launched], when there is one column
	inner [2]complex128    // [launched], inside a crystal
}

// state and its modes; only as many as a plan uses are copied.
type state struct {
	head
	light [maxModes]mode
}

// hit is what one path brings to the receiver.
type hit struct {
	amplitude complex128
	delay     float64
	bounce    int
	jones     [maxModes]polar.Matrix
	off       beam.Vec // from the base ray to the path's own
}

// newPlan returns a plan; evaluate aims it at a course.
func newPlan() *plan { return &plan{} }

// evaluate returns the response of a course that is laid and tuned.
func (q *plan) evaluate(k *Stack, c *course, d Direction, l quantity.Length) Point {
	q.begin(k, c, d, l, k.poseAt(c.at))
	q.sums.reset(k.fwhm())
	q.send(q.halfway(), 0)
	p := q.sums.point(q.modes)
	if k.ghosts == GhostsRipple {
		p.Ripple = q.sums.ripple(q.modes)
	}
	return p
}

// begin aims at a course, whatever the plan was last at when it ended.
func (q *plan) begin(k *Stack, c *course, d Direction, l quantity.Length, pose Pose) {
	q.aim(k, c, d, l, pose)
	q.nested, q.only, q.passes, q.gathering = false, nil, 0, false
}

// send traces all paths, told by a base ray of the given direction; states below from are in use.
func (q *plan) send(base r3.Vec, from int) {
	q.base = base
	axis := q.chief()
	q.modes = 1 << len(q.films)
	q.top = from + 1
	a := &q.states[from]
	a.head = head{r: q.from.r, n: base, flow: base, hat: base, perMetre: airDelay, perZ: 1 / (base.Z * base.Z),
		columns: 2, step: q.step, second: noFace, s: ray.Turn(q.from.x, axis, base)}
	// (x, y) is right-handed about +z; (s, hat x s) is about the direction of travel.
	for m := range q.modes {
		a.light[m].e = [2][2]complex128{{1, 0}, {0, complex(float64(q.step), 0)}}
	}
	i := 0
	if q.step < 0 {
		i = len(q.faces) - 1
	}
	q.arrive(a, i, &outside)
}

// fork returns a copy of a state; drop gives it back.
func (q *plan) fork(a *state) *state {
	b := &q.states[q.top]
	q.top++
	b.head = a.head
	for m := range q.modes {
		b.light[m] = a.light[m]
	}
	return b
}

func (q *plan) drop() { q.top-- }

func (q *plan) arrive(a *state, i int, in *element.Medium) {
	if i < 0 || i >= len(q.faces) {
		if a.step == q.step && a.leg != backing {
			a.travel(q.zEnd, r3.Vec{Z: 1}, in)
			q.collect(a)
		}
		return
	}
	f := &q.faces[i]
	a.travel(f.Z, f.Normal, in)
	passes := q.passes
	if f.Aperture > 0 {
		q.stops[q.passes] = stop{flat(a.r), a.space, f.Aperture, a.stops}
		a.stops = &q.stops[q.passes]
		q.passes++
	}
	q.act(a, i, in)
	q.passes = passes
}

// act is what a face, and the medium before it, do to light that has come to it.
func (q *plan) act(a *state, i int, in *element.Medium) {
	f := &q.faces[i]
	if in.Rotation != 0 || in.Crossed > 0 {
		q.turn(a, in)
	}
	if a.leg == backing && a.second == i {
		q.reflect(a, i, in, onward)
		return
	}
	if q.ghosts && a.leg == straight && f.Reflects() && q.parallelBefore(i) {
		q.reflect(q.fork(a), i, in, backing)
		q.drop()
	}
	q.cross(a, i, in)
}

// parallelBefore reports whether the face passed before face i is parallel to it.
func (q *plan) parallelBefore(i int) bool {
	j := i - q.step
	return j >= 0 && j < len(q.faces) && q.parallel(i, j)
}

func (a *state) travel(z float64, normal r3.Vec, in *element.Medium) {
	d := ((z-a.r.Z)*normal.Z - a.r.X*normal.X - a.r.Y*normal.Y) / r3.Dot(a.flow, normal)
	way := r3.Scale(d, a.flow)
	a.r = r3.Add(a.r, way)
	a.phase += r3.Dot(a.n, way)
	a.delay += d * a.perMetre
	a.space += math.Abs(way.Z) * a.perZ
	a.loss += d * in.Absorption / 2
}

// ride puts a state on a wave.
func (a *state) ride(w *ray.Wave) {
	a.n, a.flow, a.hat, a.perMetre, a.perZ = w.N, w.S, w.S, w.Delay, w.Spread
}

// turn is Faraday rotation: +x towards +y whichever way the light goes.
func (q *plan) turn(a *state, in *element.Medium) {
	theta, crossed, bit := in.Rotation, in.Crossed, uint8(0)
	if a.hat.Z < 0 {
		theta = -theta
	}
	if crossed > 0 {
		bit = q.film(in)
		if a.films&bit != 0 {
			crossed = 0
		}
		a.films |= bit
	}
	sin, cos := math.Sincos(theta)
	quarter := math.Copysign(1, a.hat.Z)
	for m := range q.modes {
		s, c, size := sin, cos, 1.0
		if crossed > 0 {
			size = math.Sqrt(1 - crossed)
			if uint8(m)&bit != 0 {
				s, c, size = quarter*cos, -quarter*sin, math.Sqrt(crossed)
			}
		}
		s, c = size*s, size*c
		for k := range a.columns {
			e := &a.light[m].e[k]
			x, y := e[0], e[1]
			e[0] = complex(c*real(x)-s*real(y), c*imag(x)-s*imag(y))
			e[1] = complex(s*real(x)+c*real(y), s*imag(x)+c*imag(y))
		}
	}
}

// refer states the components in the plane of incidence of a face.
func (q *plan) refer(a *state, normal r3.Vec) {
	if a.plane == normal {
		return
	}
	a.plane = normal
	s := across(normal, a.n)
	p := r3.Cross(a.hat, a.s)
	c, w := r3.Dot(a.s, s), r3.Dot(p, s)
	for m := range q.modes {
		for k := range a.columns {
			e := &a.light[m].e[k]
			e[0], e[1] = combine(c, w, e), combine(-w, c, e)
		}
	}
	a.s = s
}

// across returns a unit vector across a normal and a wave vector: the s direction, or where they are parallel any
// direction in the face, always the same one.
func across(normal, n r3.Vec) r3.Vec {
	s := r3.Cross(normal, n)
	s2 := r3.Norm2(s)
	if s2 < 1e-22 {
		s = r3.Sub(r3.Vec{X: 1}, r3.Scale(normal.X, normal))
		s2 = r3.Norm2(s)
	}
	return r3.Scale(1/math.Sqrt(s2), s)
}

// collect brings a path's end to the receiver: along the path's own ray when that differs from the base ray.
func (q *plan) collect(a *state) {
	if q.gathering {
		q.gather(a)
		return
	}
	bounce := 0
	if a.leg != straight {
		bounce = 1 + min(a.first, a.second)*maxFaces + max(a.first, a.second)
	}
	if q.nested {
		if bounce == q.wanted {
			q.meet(a, bounce, &q.hit)
			q.found = true
		}
		return
	}
	var h hit
	q.meet(a, bounce, &h)
	base := q.base
	for range retraces {
		if h.off.Dot(h.off) < ownRay*ownRay || power(h.amplitude) < negligible*negligible {
			break
		}
		shifted := r3.Unit(r3.Add(q.base, r3.Vec{X: h.off.X, Y: h.off.Y}))
		top := q.top
		q.nested, q.wanted, q.found, q.only = true, bounce, false, a.rays[:a.count]
		q.send(shifted, top)
		q.top, q.nested, q.only = top, false, nil
		if !q.found {
			break
		}
		h = q.hit
	}
	q.base = base
	q.sums.add(&h, q.modes)
}

// way is what a path has done to the beam by its end.
func (q *plan) way(a *state) beam.Course {
	if !q.begun {
		q.origin, q.begun = a.phase, true
	}
	return beam.Course{
		Reduced:  a.space,
		Sent:     flat(r3.Sub(q.chief(), q.base)),
		Base:     flat(a.n),
		Waiting:  flat(r3.Sub(r3.Scale(float64(q.step), q.to.axis), a.n)),
		Offset:   flat(r3.Sub(q.to.r, a.r)),
		Exponent: complex(-a.loss, q.k*(a.phase-q.origin)),
	}
}

func (q *plan) meet(a *state, bounce int, h *hit) {
	d := float64(q.step)
	c := q.way(a)
	h.amplitude = q.coupler.Overlap(&c) * complex(q.loss*q.passed(&c, a.stops), 0)
	h.delay = a.delay + c.Base.Dot(c.Offset)/quantity.LightSpeed
	h.bounce = bounce
	h.off = c.Sent.Add(c.Waiting).Scale(0.5)
	axis := r3.Scale(d, q.to.axis)
	s := ray.Turn(a.s, a.hat, axis)
	p := r3.Cross(axis, s)
	xs, xp := r3.Dot(q.to.x, s), r3.Dot(q.to.x, p)
	ys, yp := r3.Dot(q.to.y, s), r3.Dot(q.to.y, p)
	for m := range q.modes {
		l := &a.light[m]
		x, y := combine(xs, xp, &l.e[0]), combine(ys, yp, &l.e[0])
		if a.columns == 1 {
			h.jones[m] = polar.Matrix{{x * l.row[0], x * l.row[1]}, {y * l.row[0], y * l.row[1]}}
		} else {
			h.jones[m] = polar.Matrix{{x, combine(xs, xp, &l.e[1])}, {y, combine(ys, yp, &l.e[1])}}
		}
	}
}

// combine returns a e[0] + b e[1].
func combine(a, b float64, e *[2]complex128) complex128 {
	return complex(a*real(e[0])+b*real(e[1]), a*imag(e[0])+b*imag(e[1]))
}

func power(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }
