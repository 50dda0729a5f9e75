package stack

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/optics/ray"
)

// tracer follows light through a course, along every path that the crystals split it into, without allocation: it
// serves grids of millions of points.
//
// Between crystals the polarization of a path is a pair of components (s, p) in the plane of incidence of a face:
// coated faces leave the pair as it is, and so does any number of parallel ones; a rotator turns it, and only where
// two faces are not parallel is it referred to a new plane. Behind the first crystal everything on a path has one
// polarization, so that launched x and y differ by a factor: a row.
//
// Its witness is the path sum of pathsum_test.go, which carries field vectors instead and is written to be read: a
// change of the physics is made in both.
//
// A tracer belongs to one goroutine.
type tracer struct {
	shot
	states [depth]state
	top    int
	stops  [2 * depth]stop // apertures and borders on the way, as states are
	passes int
	modes  int // of depolarization
	sums   sums
	nested bool   // tracing one path again along its own ray
	only   []byte // when not nil, the rays of the one path to follow
	wanted int    // its bounce
	found  bool
	hit    hit
	room   course // what a row lays out, kept for the next

	ended func(*state)                       // what becomes of light at its end; nil: it is added up at the receiver
	seen  func(*state, int, *element.Medium) // a path that comes to a face through a medium; nil: nobody watches

	// sendingBack follows what each face, and the facet behind the last, sends back to where the light came from, and
	// leaves out the light that arrives. A film that returning light passes turns it a further 90 deg where crossing
	// has the film's bit, and not where it has not.
	sendingBack bool
	crossing    uint8
	facets      []facet // of the ports behind

	ends []collectable // of an alignment, kept for the next
}

// depth is how many states can be on the way at once. A double bounce passes every face at most three times and may
// fork at each; each of its two reflections forks up to four times more. A path that is traced again along its own ray
// does so on top of the states of the first trace, once.
const depth = 2 * (3*maxFaces + 10)

// leg is where a path stands with its reflections.
type leg uint8

const (
	straight leg = iota
	backing      // reflected once
	onward       // reflected twice
)

const noFace = -1

// unsplit is the label of light that meets no crystal.
const unsplit = "straight"

// head is what a path on its way is but for its light.
type head struct {
	r, n, flow     r3.Vec  // where, N (wave vector over k0), and the direction of energy
	hat            r3.Vec  // unit vector along N, in an isotropic medium
	s              r3.Vec  // unit vector of the first component; the second is hat x s
	plane          r3.Vec  // normal of the face whose plane of incidence they refer to
	perMetre, perZ float64 // group delay per metre of way, diffraction per metre of z
	rise           float64 // way along z from the face before, m, whichever way it goes

	phase float64 // optical path since departure, m: the phase at r over k0
	delay float64 // group delay since departure, s
	space float64 // free-space distance that diffracts as much, m
	loss  float64 // amplitude lost to absorption, in nepers
	stops *stop   // the clear apertures passed, the last one first

	columns int

	kind  byte          // 'o' or 'e' inside a crystal
	rays  [maxRays]byte // the same for each pass of a crystal, in the order of the light
	count int
	films uint8 // rotators passed, one bit each: a film depolarizes light that goes on once
	step  int   // +1 travelling along +z, -1 against it
	leg   leg
	first int // face that sent it back

	// second is the face that is to send it on again; noFace when it returns to where it came from.
	second int
}

// label spells the rays of a path, "oo", with what bounced.
func (a *state) label() string {
	s := string(a.rays[:a.count])
	if s == "" {
		s = unsplit
	}
	if a.leg != straight {
		s += " ghost"
	}
	return s
}

// bounce identifies the pair of faces of a double bounce; 0 for light that was not reflected.
func (a *state) bounce() int {
	if a.leg == straight {
		return 0
	}
	return 1 + min(a.first, a.second)*maxFaces + max(a.first, a.second)
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

// tracers are kept for reuse: one is a few hundred kilobytes of room for paths.
var tracers = sync.Pool{New: func() any { return new(tracer) }}

// traced lays and tunes a course and hands f a tracer that is aimed at it.
func (s *Stack) traced(d Direction, l quantity.Length, t quantity.Temperature, f func(*tracer)) error {
	if err := d.check(); err != nil {
		return err
	}
	q := tracers.Get().(*tracer)
	defer tracers.Put(q)
	c := &q.room
	c.lay(s, t)
	if err := c.tune(l); err != nil {
		return err
	}
	q.begin(s, c, d, l, s.poseAt(t))
	f(q)
	return nil
}

// evaluate returns the response of a course that is laid and tuned.
func (q *tracer) evaluate(k *Stack, c *course, d Direction, l quantity.Length) Point {
	q.begin(k, c, d, l, k.poseAt(c.at))
	q.gather(k.fwhm())
	p := q.sums.point(q.modes)
	p.fibres(&k.spec.Beam.Pigtails, d, &q.sums.direct, q.sums.ghosts[:q.sums.pairs], q.modes, q.sums.fwhm)
	if k.ghosts == GhostsRipple {
		p.Ripple = q.sums.ripple(q.modes)
	}
	return p
}

// gather sums up what arrives at the receiver, for a source of a linewidth in hertz.
func (q *tracer) gather(fwhm float64) {
	q.sums.reset(fwhm)
	q.send(q.halfway(), 0)
}

// begin aims at a course, whatever the tracer was last at when it ended.
func (q *tracer) begin(k *Stack, c *course, d Direction, l quantity.Length, pose Pose) {
	q.aim(k, c, d, l, pose)
	q.nested, q.only, q.passes, q.ended, q.seen, q.sendingBack = false, nil, 0, nil, nil, false
}

// chiefly traces all paths by their chief rays, and hands each to ended.
func (q *tracer) chiefly(ended func(*state)) {
	q.ended = ended
	q.send(q.chief(), 0)
	q.ended, q.seen = nil, nil
}

// send traces all paths, told by a base ray of the given direction; states below from are in use.
func (q *tracer) send(base r3.Vec, from int) {
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
func (q *tracer) fork(a *state) *state {
	b := &q.states[q.top]
	q.top++
	b.head = a.head
	for m := range q.modes {
		b.light[m] = a.light[m]
	}
	return b
}

func (q *tracer) drop() { q.top-- }

func (q *tracer) arrive(a *state, i int, in *element.Medium) {
	if i < 0 || i >= len(q.faces) {
		q.leave(a, i, in)
		return
	}
	f := &q.faces[i]
	a.travel(f.Z, f.Normal, in)
	if q.seen != nil {
		q.seen(a, i, in)
	}
	passes := q.passes
	if f.Aperture > 0 {
		q.stops[q.passes] = stop{at: flat(a.r), reduced: a.space, radius: f.Aperture, before: a.stops}
		a.stops = &q.stops[q.passes]
		q.passes++
	}
	for m := i - 1; m <= i; m++ {
		if depth, across, ok := q.border(m, in, &a.r); ok {
			q.stops[q.passes] = stop{at: flat(a.r), reduced: a.space, radius: depth, across: across, before: a.stops}
			a.stops = &q.stops[q.passes]
			q.passes++
		}
	}
	q.act(a, i, in)
	q.passes = passes
}

// leave carries a path to the collimator that it is heading for.
func (q *tracer) leave(a *state, i int, in *element.Medium) {
	switch {
	case q.sendingBack && a.leg == straight:
		f := q.facetAt(a)
		if f == nil {
			return
		}
		if a.travel(f.Z, f.Normal, in); f.Reflects() {
			normal := r3.Scale(float64(a.step), f.Normal)
			q.mirror(a, f, in, ray.Tangential(a.n, normal), normal, math.Sqrt(f.Reflectance))
			a.leg, a.first, a.second = backing, len(q.faces), noFace
			q.arrive(a, i+a.step, in)
		}
	case q.sendingBack && a.second == noFace:
		a.travel(q.zStart, r3.Vec{Z: 1}, in)
		q.ended(a)
	case a.step == q.step && a.leg != backing:
		a.travel(q.zEnd, r3.Vec{Z: 1}, in)
		q.collect(a)
	}
}

// facet is the lens face of a port behind the stack, and where the port stands.
type facet struct {
	at   r3.Vec
	face element.Face
}

// facetAt returns the lens face that a ray behind the last face meets: that of the port nearest to it.
func (q *tracer) facetAt(a *state) *element.Face {
	if len(q.facets) == 1 {
		return &q.facets[0].face
	}
	var nearest *element.Face
	least := math.Inf(1)
	for i := range q.facets {
		f := &q.facets[i]
		d := r3.Norm2(r3.Sub(r3.Add(a.r, r3.Scale((f.at.Z-a.r.Z)/a.flow.Z, a.flow)), f.at))
		if d < least {
			least, nearest = d, &f.face
		}
	}
	return nearest
}

// act is what a face, and the medium before it, do to light that has come to it.
func (q *tracer) act(a *state, i int, in *element.Medium) {
	f := &q.faces[i]
	if in.Rotation != 0 || in.Crossed > 0 {
		q.turn(a, in)
	}
	if in.Dichroic != nil {
		q.absorb(a, in.Dichroic)
	}
	if f.Mirror {
		if q.sendingBack && a.leg == straight {
			q.reflect(a, i, in, backing)
		}
		return
	}
	if a.leg == backing && a.second == i {
		q.reflect(a, i, in, onward)
		return
	}
	if a.leg == straight && f.Reflects() && (q.sendingBack || q.ghosts && q.parallelBefore(i)) {
		q.reflect(q.fork(a), i, in, backing)
		q.drop()
	}
	q.cross(a, i, in)
}

// parallelBefore reports whether the face passed before face i is parallel to it.
func (q *tracer) parallelBefore(i int) bool {
	j := i - q.step
	return j >= 0 && j < len(q.faces) && q.parallel(i, j)
}

func (a *state) travel(z float64, normal r3.Vec, in *element.Medium) {
	d := ((z-a.r.Z)*normal.Z - a.r.X*normal.X - a.r.Y*normal.Y) / r3.Dot(a.flow, normal)
	way := r3.Scale(d, a.flow)
	a.r = r3.Add(a.r, way)
	a.phase += r3.Dot(a.n, way)
	a.delay += d * a.perMetre
	a.rise = math.Abs(way.Z)
	a.space += a.rise * a.perZ
	a.loss += d * in.Absorption / 2
}

// ride puts a state on a wave.
func (a *state) ride(w *ray.Wave) {
	a.n, a.flow, a.hat, a.perMetre, a.perZ = w.N, w.S, w.S, w.Delay, w.Spread
}

// turn is Faraday rotation: +x towards +y whichever way the light goes. A film with a finite extinction ratio turns the
// light of half the modes a further 90 deg, with the share q = 1/(1+ER) of the power and without a phase to the rest.
func (q *tracer) turn(a *state, in *element.Medium) {
	theta := in.Rotation
	if in.Span > 0 {
		theta *= a.rise / in.Span
	}
	if a.hat.Z < 0 {
		theta = -theta
	}
	sin, cos := math.Sincos(theta)
	quarter := math.Copysign(1, a.hat.Z)
	kept, crossed := 1.0, 0.0
	bits, always, depolarizes := q.depolarizes(a, in)
	if depolarizes {
		kept, crossed = math.Sqrt(1-in.Crossed), math.Sqrt(in.Crossed)
	}
	for m := range q.modes {
		s, c := kept*sin, kept*cos
		if (uint8(m)|always)&bits != 0 {
			s, c = crossed*quarter*cos, -crossed*quarter*sin
		}
		for k := range a.columns {
			e := &a.light[m].e[k]
			x, y := e[0], e[1]
			e[0] = complex(c*real(x)-s*real(y), c*imag(x)-s*imag(y))
			e[1] = complex(s*real(x)+c*real(y), s*imag(x)+c*imag(y))
		}
	}
}

// depolarizes tells which modes a film turns a further 90 deg: those that have one of the bits, taken together with
// always. Light that bounces on to the receiver is depolarized the first time it passes the film. Light on its way back
// is depolarized once more, independently of the way there: all its modes are turned, or none, as crossing says.
func (q *tracer) depolarizes(a *state, in *element.Medium) (bits, always uint8, yes bool) {
	if !(in.Crossed > 0) {
		return 0, 0, false
	}
	bit := q.film(in)
	switch {
	case q.sendingBack && a.step != q.step:
		return bit & q.crossing, bit & q.crossing, true
	case a.films&bit != 0:
		return 0, 0, false
	}
	a.films |= bit
	return bit, 0, true
}

// refer states the components in the plane of incidence of a face.
func (q *tracer) refer(a *state, normal r3.Vec) {
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
