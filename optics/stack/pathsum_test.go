package stack

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/element"
	"wedgework/optics/ray"
)

// The path sum: the witness of the tracer. It is written to be read and costs some five times as much. Light is a field
// vector in the device frame, and every path is a value of its own. What the two share is what is sent (aim.go), the
// overlap of Gaussian beams, apertures and the way arrivals add up, each of which has tests of its own.

// allModes is how many modes light can have: one way through as many films as there may be, or there and back through
// wayBack.
const (
	allModes = maxModes
	wayBack  = maxRotators / 2
)

// path is light on its way: one choice of ordinary or extraordinary at every crystal so far.
type path struct {
	r     r3.Vec   // where the base ray is
	wave  ray.Wave // what it travels as
	step  int      // +1 travelling along +z, -1 against it
	phase float64  // optical path since departure, m: the phase at r over k0
	delay float64  // group delay since departure, s
	space float64  // free-space distance that diffracts as much, m
	loss  float64  // amplitude lost to absorption, in nepers
	lost  float64  // the same at the face before
	from  r3.Vec   // where the base ray was at the face before

	stops *stop // the clear apertures passed, the last one first

	// The field in an isotropic medium: for each depolarization mode what light launched along x and along y
	// has become. Inside a crystal only amplitudes count, along the wave's own field.
	field [allModes][2]field
	inner [allModes][2]complex128
	ray   byte // 'o' or 'e' inside a crystal

	rays  [maxRays]byte // 'o' or 'e' for each pass of a crystal, in the order of the light
	count int
	films uint8 // rotators passed, one bit each: a film depolarizes light that goes on once

	leg    leg
	first  int // face that sent it back
	second int // face that is to send it on again; noFace when it returns to where it came from
}

// bounce identifies the pair of faces of a double bounce; 0 for light that was not reflected.
func (p *path) bounce() int {
	if p.leg == straight {
		return 0
	}
	return 1 + min(p.first, p.second)*maxFaces + max(p.first, p.second)
}

// pathSum follows the paths of one direction through a course and hands each arrival to arrived.
type pathSum struct {
	shot
	only    []byte                            // when not nil, the rays of the one path to follow
	met     func(*path, int, *element.Medium) // a path that comes to a face through a medium; nil: nobody watches
	visit   func(*path)                       // light that arrives at the far end
	arrived func(*arrival)
	own     bool // trace a path that deviates again along its own ray

	// returned gets the light that one face, or the facet behind the last, has sent back to where it came from; nil: it
	// is not followed. Light on its way back is then depolarized by each film once more, in modes of their own.
	returned func(*path)
	facet    element.Face
	modes    int
}

// run traces light that leaves the point r as a plane wave along n, polarized along x and along y.
func (t *pathSum) run(r, n, x, y r3.Vec) {
	t.modes = 1 << len(t.films)
	if t.returned != nil {
		t.modes *= t.modes
	}
	p := &path{r: r, step: t.step, second: noFace,
		wave: ray.Wave{N: n, S: n, Delay: airDelay, Spread: 1 / (n.Z * n.Z)}}
	for m := range t.modes {
		p.field[m] = [2]field{{re: x}, {re: y}}
	}
	i := 0
	if t.step < 0 {
		i = len(t.faces) - 1
	}
	t.arrive(p, i, &outside)
}

// arrive carries a path through a medium to face i and on from there.
func (t *pathSum) arrive(p *path, i int, in *element.Medium) {
	if i < 0 || i >= len(t.faces) {
		t.leave(p, i, in)
		return
	}
	f := &t.faces[i]
	p.travel(r3.Vec{Z: f.Z}, f.Normal, in)
	if f.Aperture > 0 {
		p.stops = &stop{at: flat(p.r), reduced: p.space, radius: f.Aperture, before: p.stops}
	}
	for _, m := range []int{i - 1, i} {
		if depth, across, ok := t.border(m, in, &p.r); ok {
			p.stops = &stop{at: flat(p.r), reduced: p.space, radius: depth, across: across, before: p.stops}
		}
	}
	if in.Rotation != 0 || in.Crossed > 0 {
		t.rotate(p, in)
	}
	if t.met != nil {
		t.met(p, i, in)
	}
	if in.Dichroic != nil {
		t.absorb(p, in.Dichroic)
	}
	switch {
	case f.Mirror:
		if t.returned != nil && p.leg == straight {
			t.reflect(p, i, in, func(q *path) {
				q.leg, q.first, q.second = backing, i, noFace
				t.arrive(q, i+q.step, in)
			})
		}
		return
	case p.leg == backing && p.second == i:
		t.reflect(p, i, in, func(q *path) { q.leg = onward; t.arrive(q, i+q.step, in) })
		return
	case p.leg == straight:
		t.bounces(p, i, in)
	}
	t.cross(p, i, in)
}

// leave carries a path to the collimator it is heading for.
func (t *pathSum) leave(p *path, i int, in *element.Medium) {
	switch {
	case t.returned != nil && p.leg == straight:
		f := &t.facet
		p.travel(r3.Vec{Z: f.Z}, f.Normal, in)
		if f.Reflectance == 0 {
			return
		}
		q := *p
		q.wave, _ = ray.Refract(ray.Tangential(p.wave.N, f.Normal), r3.Scale(-float64(p.step), f.Normal), in.Index,
			in.Group)
		for m := range t.modes {
			for k := range q.field[m] {
				size := math.Sqrt(f.Reflectance)
				q.field[m][k] = p.field[m][k].each(func(v r3.Vec) r3.Vec { return mirror(v, f.Normal) }).scale(size)
			}
		}
		q.leg, q.first, q.second, q.step = backing, len(t.faces), noFace, -p.step
		t.arrive(&q, i+q.step, in)
	case p.step == t.step && p.leg != backing:
		p.travel(r3.Vec{Z: t.zEnd}, r3.Vec{Z: 1}, in)
		t.visit(p)
	case p.step != t.step && p.leg == backing && p.second == noFace:
		p.travel(r3.Vec{Z: t.zStart}, r3.Vec{Z: 1}, in)
		t.returned(p)
	}
}

// travel moves the base ray to the plane through point with the given normal.
func (p *path) travel(point, normal r3.Vec, in *element.Medium) {
	d := r3.Dot(r3.Sub(point, p.r), normal) / r3.Dot(p.wave.S, normal)
	way := r3.Scale(d, p.wave.S)
	p.from, p.r = p.r, r3.Add(p.r, way)
	p.phase += r3.Dot(p.wave.N, way)
	p.delay += d * p.wave.Delay
	p.space += math.Abs(way.Z) * p.wave.Spread
	p.lost, p.loss = p.loss, p.loss+d*in.Absorption/2
}

// rotate turns the fields about the direction of travel: +x towards +y whichever way the light goes. A film
// with a finite extinction ratio turns the light of half the modes a further 90 deg, once, and on the way back that of
// half the modes of its own for that.
func (t *pathSum) rotate(p *path, in *element.Medium) {
	axis := upward(p.wave.N)
	bit, crossed := uint8(0), in.Crossed
	if crossed > 0 {
		bit = t.film(in)
		if t.returned != nil && p.step != t.step {
			bit <<= len(t.films)
		}
		if p.films&bit != 0 {
			crossed = 0
		}
		p.films |= bit
	}
	turned := in.Rotation
	if in.Span > 0 {
		turned *= math.Abs(p.r.Z-p.from.Z) / in.Span
	}
	for m := range t.modes {
		theta, size := turned, math.Sqrt(1-crossed)
		if crossed > 0 && uint8(m)&bit != 0 {
			theta, size = theta+math.Pi/2, math.Sqrt(crossed)
		}
		for k := range p.field[m] {
			p.field[m][k] = p.field[m][k].spin(axis, theta).scale(size)
		}
	}
}

// absorb weakens the field along what of the absorbing axis is across the light, and the rest of it.
func (t *pathSum) absorb(p *path, d *element.Dichroic) {
	n := r3.Unit(p.wave.N)
	axis := r3.Unit(r3.Sub(d.Axis, r3.Scale(r3.Dot(d.Axis, n), n)))
	for m := range t.modes {
		for k := range p.field[m] {
			p.field[m][k] = p.field[m][k].each(func(v r3.Vec) r3.Vec {
				along := r3.Scale(r3.Dot(v, axis), axis)
				return r3.Add(r3.Scale(d.Block, along), r3.Scale(d.Pass, r3.Sub(v, along)))
			})
		}
	}
}

// bounces sends back what face i reflects: to each earlier face parallel to it with none between that is not,
// to be sent on again from there, and to the launching collimator where that is asked for.
func (t *pathSum) bounces(p *path, i int, in *element.Medium) {
	if !t.ghosts && t.returned == nil || !t.faces[i].Reflects() {
		return
	}
	t.reflect(p, i, in, func(q *path) {
		q.leg, q.first = backing, i
		back := func(j int) {
			c := *q
			c.second = j
			t.arrive(&c, i+c.step, in)
		}
		if t.returned != nil {
			back(noFace)
		}
		for j := i - t.step; t.ghosts && j >= 0 && j < len(t.faces) && t.parallel(i, j); j -= t.step {
			if t.faces[j].Reflects() {
				back(j)
			}
		}
	})
}
