package stack

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/ray"
)

// path is light on its way: one choice of ordinary or extraordinary at every crystal so far.
type path struct {
	r     r3.Vec   // where the base ray is
	wave  ray.Wave // what it travels as
	phase float64  // optical path since departure, m: the phase at r over k0
	delay float64  // group delay since departure, s
	space float64  // free-space distance that diffracts as much, m
	turn  float64  // Faraday rotation since departure, rad
	loss  float64  // amplitude lost to absorption, in nepers

	// clipped is the share of the power that the narrowest aperture so far has cut off. Apertures in a row
	// cut the same edge: only the narrowest counts.
	clipped float64

	// The field in an isotropic medium: for each depolarization mode the two real vectors that light
	// launched along x and along y has become. Inside a crystal only amplitudes count, along the wave's
	// own field.
	field [maxModes][2]r3.Vec
	inner [maxModes][2]float64
	ray   byte // 'o' or 'e' inside a crystal

	rays  [maxFaces / 2]byte // 'o' or 'e' for each crystal passed
	count int
	ghost int // which double bounce, told by its two faces; 0 for light that went straight
}

// mark is what a path was when it left a face, kept to tell what a double bounce back to that face adds.
type mark struct {
	r                               r3.Vec
	phase, delay, space, turn, loss float64
}

// tracer follows the paths of one direction through a course and hands each arrival to visit.
type tracer struct {
	*course
	wavelength float64 // vacuum, m
	step       int     // +1 forward, -1 backward
	zEnd       float64
	ghosts     bool
	only       []byte // when not nil, the rays of the one path to follow
	visit      func(*path)

	marks [maxFaces]mark
	modes int
}

// run traces light that leaves the point r as a plane wave along n, polarized along x and along y.
func (t *tracer) run(r, n, x, y r3.Vec) {
	t.modes = 1
	for i := range t.media {
		if t.media[i].Crossed > 0 {
			t.modes *= 2
		}
	}
	p := &path{r: r, wave: ray.Wave{N: n, S: n, Delay: airDelay, Spread: 1 / (n.Z * n.Z)}}
	for m := range t.modes {
		p.field[m] = [2]r3.Vec{x, y}
	}
	first := 0
	if t.step < 0 {
		first = len(t.faces) - 1
	}
	t.arrive(p, first, 0, &outside)
}

var airDelay = func() float64 {
	w, _ := ray.Refract(r3.Vec{}, r3.Vec{Z: 1}, element.Air.Index, element.Air.Group)
	return w.Delay
}()

// arrive carries a path through the medium to face i and on from there. rotators counts those passed.
func (t *tracer) arrive(p *path, i, rotators int, in *element.Medium) {
	if i < 0 || i >= len(t.faces) {
		p.travel(r3.Vec{Z: t.zEnd}, r3.Vec{Z: 1}, in)
		t.visit(p)
		return
	}
	f := &t.faces[i]
	p.travel(r3.Vec{Z: f.Z}, f.Normal, in)
	if f.Aperture > 0 {
		size := t.waist * math.Hypot(1, (p.space-t.ahead)/beam.RayleighRange(t.waist, t.wavelength))
		p.clipped = max(p.clipped, 1-beam.Clip(math.Hypot(p.r.X, p.r.Y), f.Aperture, size))
	}
	if in.Rotation != 0 || in.Crossed > 0 {
		t.rotate(p, rotators, in)
		if in.Crossed > 0 {
			rotators++
		}
	}
	if t.ghosts && p.ghost == 0 && in.Crystal == nil {
		t.bounces(p, i, rotators, in)
	}
	t.cross(p, i, rotators, in)
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
// with a finite extinction ratio turns every second mode a further 90 deg.
func (t *tracer) rotate(p *path, rotators int, in *element.Medium) {
	p.turn += in.Rotation
	axis := upward(p.wave.N)
	straight, crossed := math.Sqrt(1-in.Crossed), math.Sqrt(in.Crossed)
	for m := range t.modes {
		theta, size := in.Rotation, straight
		if in.Crossed > 0 && m>>rotators&1 == 1 {
			theta, size = theta+math.Pi/2, crossed
		}
		for k := range p.field[m] {
			p.field[m][k] = r3.Scale(size, spin(p.field[m][k], axis, theta))
		}
	}
}

// upward returns the unit vector along n or against it, whichever has positive z.
func upward(n r3.Vec) r3.Vec {
	u := r3.Unit(n)
	if u.Z < 0 {
		u = r3.Scale(-1, u)
	}
	return u
}

// spin rotates a vector across the unit axis by theta about it.
func spin(v, axis r3.Vec, theta float64) r3.Vec {
	s, c := math.Sincos(theta)
	return r3.Add(r3.Scale(c, v), r3.Scale(s, r3.Cross(axis, v)))
}

// cross takes a path over face i into the medium behind it.
func (t *tracer) cross(p *path, i, rotators int, in *element.Medium) {
	f := &t.faces[i]
	normal := r3.Scale(float64(t.step), f.Normal)
	along := ray.Tangential(p.wave.N, normal)
	pass := math.Sqrt(1 - f.Reflectance)
	out := t.medium(i, t.step)
	switch {
	case out.Crystal != nil:
		t.split(p, i, rotators, out, along, normal, pass)
		return
	case in.Crystal != nil:
		wave, ok := ray.Refract(along, normal, out.Index, out.Group)
		ord, also := in.Crystal.Ordinary(along, normal)
		if !ok || !also {
			return // total reflection: nothing of this path arrives
		}
		v := surfaceField(in.Crystal, ord.N, wave.N, p.ray)
		for m := range t.modes {
			for k := range p.field[m] {
				p.field[m][k] = r3.Scale(pass*p.inner[m][k], v)
			}
		}
		p.wave = wave
	default:
		wave, ok := ray.Refract(along, normal, out.Index, out.Group)
		if !ok {
			return
		}
		for m := range t.modes {
			for k := range p.field[m] {
				p.field[m][k] = r3.Scale(pass, ray.Turn(p.field[m][k], p.wave.N, wave.N))
			}
		}
		p.wave = wave
		if f.Sheet != nil {
			p.filter(f.Sheet, t.modes)
		}
	}
	t.marks[i] = mark{p.r, p.phase, p.delay, p.space, p.turn, p.loss}
	t.arrive(p, i+t.step, rotators, out)
}

// filter lets the field through a polarizing sheet.
func (p *path) filter(s *element.Sheet, modes int) {
	axis := r3.Unit(ray.Tangential(s.Axis, r3.Unit(p.wave.N)))
	for m := range modes {
		for k, v := range p.field[m] {
			along := r3.Dot(v, axis)
			p.field[m][k] = r3.Add(r3.Scale(s.Block, v), r3.Scale(along*(s.Pass-s.Block), axis))
		}
	}
}

// split enters a crystal: the path goes on as an ordinary and as an extraordinary one.
func (t *tracer) split(p *path, i, rotators int, out *element.Medium, along, normal r3.Vec, pass float64) {
	ord, ok := out.Crystal.Ordinary(along, normal)
	if !ok {
		return
	}
	ext, both := out.Crystal.Extraordinary(along, normal)
	for _, kind := range [2]byte{'o', 'e'} {
		if t.only != nil && t.only[p.count] != kind {
			continue
		}
		q, v := *p, surfaceField(out.Crystal, ord.N, p.wave.N, kind)
		q.ray, q.wave = kind, ord
		if kind == 'e' {
			if !both {
				continue
			}
			q.wave = ext
		}
		for m := range t.modes {
			for k := range p.field[m] {
				q.inner[m][k] = pass * r3.Dot(v, p.field[m][k])
			}
		}
		q.rays[q.count] = kind
		q.count++
		t.arrive(&q, i+t.step, rotators, out)
	}
}

// surfaceField returns the unit field, on the isotropic side of a perfectly coated face, of the ordinary or
// extraordinary wave of a crystal. The ordinary wave's s and p components are kept across the face; the
// extraordinary wave is its orthonormal complement at the same component along the face.
func surfaceField(u *ray.Uniaxial, ordinary, isotropic r3.Vec, kind byte) r3.Vec {
	v := ray.Turn(u.OrdinaryField(ordinary), ordinary, isotropic)
	if kind == 'e' {
		v = r3.Unit(r3.Cross(isotropic, v))
	}
	return v
}

// bounces sends on, for every earlier face parallel to face i with only isotropic media between, the light
// that goes back there and returns: two more passes, turned twice more by every rotator between.
func (t *tracer) bounces(p *path, i, rotators int, in *element.Medium) {
	inner := 1.0
	for j := i - t.step; j >= 0 && j < len(t.faces); j -= t.step {
		if t.medium(j, t.step).Crystal != nil {
			return
		}
		f, g := &t.faces[i], &t.faces[j]
		if r := f.Reflectance * g.Reflectance; r > 0 && f.Normal == g.Normal {
			q, k := *p, &t.marks[j]
			q.ghost = 1 + min(i, j)*maxFaces + max(i, j)
			q.r = r3.Add(p.r, twice(p.r.X-k.r.X, p.r.Y-k.r.Y))
			q.phase += 2 * (p.phase - k.phase)
			q.delay += 2 * (p.delay - k.delay)
			q.space += 2 * (p.space - k.space)
			q.loss += 2 * (p.loss - k.loss)
			axis, theta, size := upward(p.wave.N), 2*(p.turn-k.turn), math.Sqrt(r)*inner
			for m := range t.modes {
				for c := range q.field[m] {
					q.field[m][c] = r3.Scale(size, spin(p.field[m][c], axis, theta))
				}
			}
			t.cross(&q, i, rotators, in)
		}
		inner *= 1 - g.Reflectance
	}
}

func twice(x, y float64) r3.Vec { return r3.Vec{X: 2 * x, Y: 2 * y} }

func flat(v r3.Vec) beam.Vec { return beam.Vec{X: v.X, Y: v.Y} }

// label spells the rays of a path, "oo", with what bounced.
func (p *path) label() string {
	s := string(p.rays[:p.count])
	if s == "" {
		s = "straight"
	}
	if p.ghost > 0 {
		s += " ghost"
	}
	return s
}
