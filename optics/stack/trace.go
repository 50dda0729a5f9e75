package stack

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/element"
	"wedgework/optics/ray"
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

	stops *stop // the clear apertures passed, the last one first

	// The field in an isotropic medium: for each depolarization mode what light launched along x and along y
	// has become. Inside a crystal only amplitudes count, along the wave's own field.
	field [maxModes][2]field
	inner [maxModes][2]complex128
	ray   byte // 'o' or 'e' inside a crystal

	rays  [maxRays]byte // 'o' or 'e' for each pass of a crystal, in the order of the light
	count int
	films uint8 // rotators passed, one bit each: a film depolarizes light once

	leg    leg
	first  int // face that sent it back
	second int // face that is to send it on again; noFace when it returns to where it came from
}

// leg is where a path stands with its reflections.
type leg uint8

const (
	straight leg = iota
	backing      // reflected once
	onward       // reflected twice
)

const noFace = -1

// bounce identifies the pair of faces of a double bounce; 0 for light that was not reflected.
func (p *path) bounce() int {
	if p.leg == straight {
		return 0
	}
	return 1 + min(p.first, p.second)*maxFaces + max(p.first, p.second)
}

// unsplit is the label of light that meets no crystal.
const unsplit = "straight"

// label spells the rays of a path, "oo", with what bounced.
func (p *path) label() string {
	s := string(p.rays[:p.count])
	if s == "" {
		s = unsplit
	}
	if p.leg != straight {
		s += " ghost"
	}
	return s
}

// tracer follows the paths of one direction through a course and hands each arrival to visit.
type tracer struct {
	*course
	wavelength float64 // vacuum, m
	step       int     // +1 forward, -1 backward
	zStart     float64
	zEnd       float64
	ghosts     bool
	only       []byte           // when not nil, the rays of the one path to follow
	visit      func(*path)      // light that arrives at the far end
	returned   func(*path)      // light that one face has sent back to where it came from; nil: not followed
	seen       func(*path, int) // a path that has come to a face; nil: nobody watches
	modes      int
}

// run traces light that leaves the point r as a plane wave along n, polarized along x and along y.
func (t *tracer) run(r, n, x, y r3.Vec) {
	t.modes = 1 << len(t.films)
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

var airDelay = func() float64 {
	w, _ := ray.Refract(r3.Vec{}, r3.Vec{Z: 1}, element.Air.Index, element.Air.Group)
	return w.Delay
}()

// arrive carries a path through a medium to face i and on from there.
func (t *tracer) arrive(p *path, i int, in *element.Medium) {
	if i < 0 || i >= len(t.faces) {
		t.leave(p, in)
		return
	}
	f := &t.faces[i]
	p.travel(r3.Vec{Z: f.Z}, f.Normal, in)
	if t.seen != nil {
		t.seen(p, i)
	}
	if f.Aperture > 0 {
		p.stops = &stop{flat(p.r), p.space, f.Aperture, p.stops}
	}
	if in.Rotation != 0 || in.Crossed > 0 {
		t.rotate(p, in)
	}
	switch {
	case p.leg == backing && p.second == i:
		t.reflect(p, i, in, func(q *path) { q.leg = onward; t.arrive(q, i+q.step, in) })
		return
	case p.leg == straight:
		t.bounces(p, i, in)
	}
	t.cross(p, i, in)
}

// leave carries a path to the collimator it is heading for.
func (t *tracer) leave(p *path, in *element.Medium) {
	switch {
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
	p.r = r3.Add(p.r, way)
	p.phase += r3.Dot(p.wave.N, way)
	p.delay += d * p.wave.Delay
	p.space += math.Abs(way.Z) * p.wave.Spread
	p.loss += d * in.Absorption / 2
}

// rotate turns the fields about the direction of travel: +x towards +y whichever way the light goes. A film
// with a finite extinction ratio turns the light of half the modes a further 90 deg, once.
func (t *tracer) rotate(p *path, in *element.Medium) {
	axis := upward(p.wave.N)
	bit, crossed := uint8(0), in.Crossed
	if crossed > 0 {
		bit = t.film(in)
		if p.films&bit != 0 {
			crossed = 0
		}
		p.films |= bit
	}
	for m := range t.modes {
		theta, size := in.Rotation, math.Sqrt(1-crossed)
		if crossed > 0 && uint8(m)&bit != 0 {
			theta, size = theta+math.Pi/2, math.Sqrt(crossed)
		}
		for k := range p.field[m] {
			p.field[m][k] = p.field[m][k].spin(axis, theta).scale(size)
		}
	}
}

// bounces sends back what face i reflects: to each earlier face parallel to it with none between that is not,
// to be sent on again from there, and to the launching collimator where that is asked for.
func (t *tracer) bounces(p *path, i int, in *element.Medium) {
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
