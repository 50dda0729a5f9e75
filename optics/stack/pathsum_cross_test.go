package stack

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/element"
	"wedgework/optics/face"
	"wedgework/optics/ray"
)

// cross takes a path over face i into the medium behind it.
func (t *pathSum) cross(p *path, i int, in *element.Medium) {
	f := &t.faces[i]
	normal := r3.Scale(float64(p.step), f.Normal)
	tangent := ray.Tangential(p.wave.N, normal)
	out := t.medium(i, p.step, &p.r)
	if f.Exact {
		t.crossExactly(p, i, in, out, tangent, normal)
		return
	}
	pass := math.Sqrt(1 - f.Reflectance)
	switch {
	case out.Crystal != nil:
		t.split(p, i, out, tangent, normal, pass)
	case in.Crystal != nil:
		wave, ok := ray.Refract(tangent, normal, out.Index, out.Group)
		ord, also := in.Crystal.Ordinary(tangent, normal)
		if !ok || !also {
			return // total reflection: nothing of this path goes on
		}
		v := surfaceField(in.Crystal, ord.N, wave.N, p.ray)
		for m := range t.modes {
			for k := range p.field[m] {
				p.field[m][k] = along(complex(pass, 0)*p.inner[m][k], v)
			}
		}
		p.wave = wave
		t.arrive(p, i+p.step, out)
	default:
		wave, ok := ray.Refract(tangent, normal, out.Index, out.Group)
		if !ok {
			return
		}
		for m := range t.modes {
			for k, e := range p.field[m] {
				e = e.turn(p.wave.N, wave.N).scale(pass)
				if f.Sheet != nil {
					e = e.filter(f.Sheet, wave.N)
				}
				p.field[m][k] = e
			}
		}
		p.wave = wave
		t.arrive(p, i+p.step, out)
	}
}

// split enters a crystal through a coated face: the path goes on as an ordinary and as an extraordinary one.
func (t *pathSum) split(p *path, i int, out *element.Medium, tangent, normal r3.Vec, pass float64) {
	ord, ok := out.Crystal.Ordinary(tangent, normal)
	if !ok {
		return
	}
	ext, both := out.Crystal.Extraordinary(tangent, normal)
	for _, kind := range [2]byte{'o', 'e'} {
		q, v := *p, surfaceField(out.Crystal, ord.N, p.wave.N, kind)
		q.wave = ord
		if kind == 'e' {
			if !both {
				continue
			}
			q.wave = ext
		}
		for m := range t.modes {
			for k := range p.field[m] {
				q.inner[m][k] = complex(pass, 0) * p.field[m][k].dot(v)
			}
		}
		t.enter(&q, kind, i, out)
	}
}

// enter goes on inside a crystal, if that path is followed at all.
func (t *pathSum) enter(p *path, kind byte, i int, out *element.Medium) {
	if t.takes(p, kind) {
		t.arrive(p, i+p.step, out)
	}
}

// takes puts a path on a kind of ray inside a crystal, unless that is not the path to be followed.
func (t *pathSum) takes(p *path, kind byte) bool {
	if t.only != nil && (p.count >= len(t.only) || t.only[p.count] != kind) {
		return false
	}
	p.ray = kind
	p.rays[p.count] = kind
	p.count++
	return true
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

// crossExactly is cross for a bare face or one with a stack of thin films.
func (t *pathSum) crossExactly(p *path, i int, in, out *element.Medium, tangent, normal r3.Vec) {
	s, ok := t.scatter(i, p.step, in, out, tangent, normal)
	if !ok {
		return
	}
	var sent [allModes][2][2]complex128 // [mode][launched][outgoing wave]
	for m := range t.modes {
		for k := range p.field[m] {
			a := p.amplitudes(m, k, in, &s.In)
			for w := range 2 {
				sent[m][k][w] = s.T[w][0]*a[0] + s.T[w][1]*a[1]
			}
		}
	}
	if out.Crystal == nil {
		if !s.Out[0].Travels {
			return
		}
		for m := range t.modes {
			for k := range p.field[m] {
				p.field[m][k] = along(sent[m][k][0], s.Out[0].Field).add(along(sent[m][k][1], s.Out[1].Field))
			}
		}
		p.wave = s.Out[0].Wave
		t.arrive(p, i+p.step, out)
		return
	}
	for w, kind := range [2]byte{'o', 'e'} {
		if !s.Out[w].Travels {
			continue
		}
		q := *p
		q.wave = s.Out[w].Wave
		for m := range t.modes {
			for k := range p.inner[m] {
				q.inner[m][k] = sent[m][k][w]
			}
		}
		t.enter(&q, kind, i, out)
	}
}

// amplitudes takes the light of a path apart into the two waves that can arrive at a face.
func (p *path) amplitudes(m, k int, in *element.Medium, waves *[2]face.Mode) (a [2]complex128) {
	switch {
	case in.Crystal == nil:
		a[0], a[1] = p.field[m][k].dot(waves[0].Field), p.field[m][k].dot(waves[1].Field)
	case p.ray == 'o':
		a[0] = p.inner[m][k]
	default:
		a[1] = p.inner[m][k]
	}
	return a
}

// reflect sends a path back from face i, once for each wave that comes of it.
func (t *pathSum) reflect(p *path, i int, in *element.Medium, send func(*path)) {
	f := &t.faces[i]
	normal := r3.Scale(float64(p.step), f.Normal)
	tangent := ray.Tangential(p.wave.N, normal)
	inward := r3.Scale(-1, normal)
	if f.Exact {
		t.reflectExactly(p, i, in, tangent, normal, send)
		return
	}
	// Of a coated face only the reflectance is known: the field along the face is kept, and so is the kind of
	// ray in a crystal.
	q, size := *p, reflected(f, in, t.medium(i, p.step, &p.r))
	q.step = -p.step
	ok := true
	switch {
	case in.Crystal == nil:
		q.wave, ok = ray.Refract(tangent, inward, in.Index, in.Group)
		for m := range t.modes {
			for k := range q.field[m] {
				q.field[m][k] = p.field[m][k].each(func(v r3.Vec) r3.Vec { return mirror(v, normal) }).scale(size)
			}
		}
	case p.ray == 'o':
		q.wave, ok = in.Crystal.Ordinary(tangent, inward)
	default:
		q.wave, ok = in.Crystal.Extraordinary(tangent, inward)
	}
	if !ok {
		return
	}
	if in.Crystal != nil {
		if !t.takes(&q, p.ray) {
			return
		}
		size *= facing(in.Crystal, p.ray, tangent, normal)
	}
	for m := range t.modes {
		for k := range q.inner[m] {
			q.inner[m][k] *= complex(size, 0)
		}
	}
	send(&q)
}

func (t *pathSum) reflectExactly(p *path, i int, in *element.Medium, tangent, normal r3.Vec, send func(*path)) {
	s, ok := t.scatter(i, p.step, in, t.medium(i, p.step, &p.r), tangent, normal)
	if !ok {
		return
	}
	if in.Crystal == nil {
		q := *p
		q.step, q.wave = -p.step, s.Back[0].Wave
		for m := range t.modes {
			for k := range q.field[m] {
				a := p.amplitudes(m, k, in, &s.In)
				q.field[m][k] = along(s.R[0][0]*a[0]+s.R[0][1]*a[1], s.Back[0].Field).
					add(along(s.R[1][0]*a[0]+s.R[1][1]*a[1], s.Back[1].Field))
			}
		}
		send(&q)
		return
	}
	for w, kind := range [2]byte{'o', 'e'} {
		if !s.Back[w].Travels {
			continue
		}
		q := *p
		q.step, q.wave = -p.step, s.Back[w].Wave
		if !t.takes(&q, kind) {
			continue
		}
		for m := range t.modes {
			for k := range q.inner[m] {
				a := p.amplitudes(m, k, in, &s.In)
				q.inner[m][k] = s.R[w][0]*a[0] + s.R[w][1]*a[1]
			}
		}
		send(&q)
	}
}
