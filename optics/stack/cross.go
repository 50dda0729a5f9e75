package stack

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/element"
	"wedgework/optics/face"
	"wedgework/optics/ray"
)

// cross takes a state over face i into the medium behind it.
func (q *tracer) cross(a *state, i int, in *element.Medium) {
	f := &q.faces[i]
	normal := r3.Scale(float64(a.step), f.Normal)
	tangent := ray.Tangential(a.n, normal)
	out := q.medium(i, a.step, &a.r)
	if f.Exact {
		q.crossExactly(a, i, in, out, tangent, normal)
		return
	}
	pass := math.Sqrt(1 - f.Reflectance)
	switch {
	case out.Crystal != nil:
		q.split(a, i, out, tangent, normal, pass)
	case in.Crystal != nil:
		q.leaveCrystal(a, i, in, out, tangent, normal, pass)
	default:
		q.refer(a, f.Normal)
		w, ok := ray.Refract(tangent, normal, out.Index, out.Group)
		if !ok {
			return
		}
		a.ride(&w)
		if f.Reflectance > 0 {
			a.scale(complex(pass, 0), q.modes)
		}
		if f.Sheet != nil {
			q.filter(a, f.Sheet)
		}
		q.arrive(a, i+a.step, out)
	}
}

func (a *state) scale(by complex128, modes int) {
	for m := range modes {
		for k := range a.columns {
			a.light[m].e[k][0] *= by
			a.light[m].e[k][1] *= by
		}
	}
}

// filter is what a sheet does: it passes the field along its axis.
func (q *tracer) filter(a *state, s *element.Sheet) { q.polarize(a, s.Axis, s.Pass, s.Block) }

// absorb is what a dichroic medium has done by the face behind it: it absorbs the field along its axis.
func (q *tracer) absorb(a *state, d *element.Dichroic) { q.polarize(a, d.Axis, d.Block, d.Pass) }

// polarize puts factors on the field along what of an axis is across the light, and on the rest.
func (q *tracer) polarize(a *state, axis r3.Vec, onAxis, across float64) {
	as, ap := r3.Dot(axis, a.s), r3.Dot(axis, r3.Cross(a.hat, a.s))
	size := math.Hypot(as, ap)
	cs, cp := complex(as/size, 0), complex(ap/size, 0)
	block, rest := complex(across, 0), complex(onAxis-across, 0)
	for m := range q.modes {
		for k := range a.columns {
			e := &a.light[m].e[k]
			along := rest * (cs*e[0] + cp*e[1])
			e[0], e[1] = block*e[0]+along*cs, block*e[1]+along*cp
		}
	}
}

// split enters a crystal through a coated face.
func (q *tracer) split(a *state, i int, out *element.Medium, tangent, normal r3.Vec, pass float64) {
	u := out.Crystal
	ord, ok := u.Ordinary(tangent, normal)
	if !ok {
		return
	}
	q.refer(a, q.faces[i].Normal)
	os, op := ordinaryPair(u, &ord, a.s)
	for _, kind := range [2]byte{'o', 'e'} {
		if !q.wants(a, kind) {
			continue
		}
		b := q.fork(a)
		cs, cp := pass*os, pass*op
		if kind == 'o' {
			b.ride(&ord)
		} else {
			ext, both := u.Extraordinary(tangent, normal)
			if !both {
				q.drop()
				continue
			}
			cs, cp = -cp, cs
			b.ride(&ext)
		}
		for m := range q.modes {
			l := &a.light[m]
			x := combine(cs, cp, &l.e[0])
			if a.columns == 1 {
				b.light[m].inner = [2]complex128{x * l.row[0], x * l.row[1]}
			} else {
				b.light[m].inner = [2]complex128{x, combine(cs, cp, &l.e[1])}
			}
		}
		q.enter(b, kind, i, out)
		q.drop()
	}
}

// ordinaryPair returns the (s, p) components of the ordinary field of a wave at a face whose s direction is given.
func ordinaryPair(u *ray.Uniaxial, ord *ray.Wave, s r3.Vec) (os, op float64) {
	f := u.OrdinaryField(ord.N)
	p := r3.Cross(ord.S, s) // the ordinary ray runs along its wave vector
	return r3.Dot(f, s), r3.Dot(f, p)
}

func (q *tracer) enter(a *state, kind byte, i int, out *element.Medium) {
	a.take(kind)
	q.arrive(a, i+a.step, out)
}

// wants reports whether a path that takes a kind of ray next is one to be followed.
func (q *tracer) wants(a *state, kind byte) bool {
	return q.only == nil || a.count < len(q.only) && q.only[a.count] == kind
}

// take puts a state on a kind of ray.
func (a *state) take(kind byte) {
	a.kind = kind
	a.rays[a.count] = kind
	a.count++
}

func (q *tracer) leaveCrystal(a *state, i int, in, out *element.Medium, tangent, normal r3.Vec, pass float64) {
	w, ok := ray.Refract(tangent, normal, out.Index, out.Group)
	ord, also := in.Crystal.Ordinary(tangent, normal)
	if !ok || !also {
		return
	}
	f := &q.faces[i]
	s := across(f.Normal, a.n)
	os, op := ordinaryPair(in.Crystal, &ord, s)
	e := [2]complex128{complex(pass*os, 0), complex(pass*op, 0)}
	if a.kind == 'e' {
		e[0], e[1] = -e[1], e[0]
	}
	q.single(a, s, f.Normal, e)
	a.ride(&w)
	q.arrive(a, i+a.step, out)
}

// single leaves a crystal with one polarization for all that is on the path.
func (q *tracer) single(a *state, s, plane r3.Vec, e [2]complex128) {
	a.s, a.plane, a.columns = s, plane, 1
	for m := range q.modes {
		a.light[m].e[0], a.light[m].row = e, a.light[m].inner
	}
}

// crossExactly is cross for a bare face or one with thin films.
func (q *tracer) crossExactly(a *state, i int, in, out *element.Medium, tangent, normal r3.Vec) {
	s, ok := q.scatter(i, a.step, in, out, tangent, normal)
	if !ok {
		return
	}
	q.sent(a, in, out, &s.In, &s.Out, &s.T, i, func(b *state, kind byte) {
		if kind == 0 {
			q.arrive(b, i+b.step, out)
		} else if q.wants(b, kind) {
			q.enter(b, kind, i, out)
		}
	})
}

// reflect sends a state back from face i on its next leg.
func (q *tracer) reflect(a *state, i int, in *element.Medium, next leg) {
	f := &q.faces[i]
	normal := r3.Scale(float64(a.step), f.Normal)
	tangent := ray.Tangential(a.n, normal)
	if f.Exact {
		s, ok := q.scatter(i, a.step, in, q.medium(i, a.step, &a.r), tangent, normal)
		if !ok {
			return
		}
		q.sent(a, in, in, &s.In, &s.Back, &s.R, i, func(b *state, kind byte) {
			if kind != 0 {
				if !q.wants(b, kind) {
					return
				}
				b.take(kind)
			}
			b.step = -a.step
			q.returning(b, i, in, next)
		})
		return
	}
	size := reflected(f, in, q.medium(i, a.step, &a.r))
	if in.Crystal == nil {
		if !q.mirror(a, f, in, tangent, normal, size) {
			return
		}
	} else if !q.mirrorInside(a, in, tangent, normal, size) {
		return
	}
	q.returning(a, i, in, next)
}

// mirror turns a state back at a face in an isotropic medium, with an amplitude that does not depend on polarization:
// what lies along the face is kept, so that s stays and p points the other way.
func (q *tracer) mirror(a *state, f *element.Face, in *element.Medium, tangent, normal r3.Vec, size float64) bool {
	q.refer(a, f.Normal)
	w, ok := ray.Refract(tangent, r3.Scale(-1, normal), in.Index, in.Group)
	a.scale(complex(size, 0), q.modes)
	for m := range q.modes {
		for k := range a.columns {
			a.light[m].e[k][1] = -a.light[m].e[k][1]
		}
	}
	a.step = -a.step
	a.ride(&w)
	return ok
}

// mirrorInside does the same in a crystal, where the kind of ray is kept.
func (q *tracer) mirrorInside(a *state, in *element.Medium, tangent, normal r3.Vec, size float64) bool {
	var w ray.Wave
	var ok bool
	if a.kind == 'o' {
		w, ok = in.Crystal.Ordinary(tangent, r3.Scale(-1, normal))
	} else {
		w, ok = in.Crystal.Extraordinary(tangent, r3.Scale(-1, normal))
	}
	if !ok || !q.wants(a, a.kind) {
		return false
	}
	a.take(a.kind)
	by := complex(size*facing(in.Crystal, a.kind, tangent, normal), 0)
	for m := range q.modes {
		a.light[m].inner[0] *= by
		a.light[m].inner[1] *= by
	}
	a.step = -a.step
	a.ride(&w)
	return true
}

// returning follows a reflected state: forward again after the second reflection, and after the first to each face that
// can give it that, or to where it came from.
func (q *tracer) returning(a *state, i int, in *element.Medium, next leg) {
	a.leg = next
	if next == onward {
		q.arrive(a, i+a.step, in)
		return
	}
	a.first = i
	if q.sendingBack {
		a.second = noFace
		q.arrive(a, i+a.step, in)
		return
	}
	for j := i - q.step; j >= 0 && j < len(q.faces) && q.parallel(i, j); j -= q.step {
		if q.faces[j].Reflects() {
			b := q.fork(a)
			b.second = j
			q.arrive(b, i+b.step, in)
			q.drop()
		}
	}
}

// sent applies a scattering matrix and hands on what leaves: one state in an isotropic medium, with kind 0, or
// one for each wave of a crystal.
func (q *tracer) sent(a *state, in, out *element.Medium, arriving, leaving *[2]face.Mode, t *[2][2]complex128, i int,
	next func(*state, byte)) {
	var into [2][2]complex128 // [column's component][arriving wave], for an isotropic medium
	if in.Crystal == nil {
		p := r3.Cross(a.hat, a.s)
		for w := range 2 {
			into[w] = [2]complex128{complex(r3.Dot(a.s, arriving[w].Field), 0), complex(r3.Dot(p, arriving[w].Field),
				0)}
		}
	}
	from := 0
	if a.kind == 'e' {
		from = 1
	}
	// amplitude of outgoing wave w for one column of components
	through := func(w int, e *[2]complex128) complex128 {
		return t[w][0]*(into[0][0]*e[0]+into[0][1]*e[1]) + t[w][1]*(into[1][0]*e[0]+into[1][1]*e[1])
	}
	if out.Crystal == nil {
		if !leaving[0].Travels {
			return
		}
		b := q.fork(a)
		b.ride(&leaving[0].Wave)
		if in.Crystal != nil {
			q.single(b, leaving[0].Field, q.faces[i].Normal, [2]complex128{t[0][from], t[1][from]})
		} else {
			for m := range q.modes {
				for k := range b.columns {
					e := &a.light[m].e[k]
					b.light[m].e[k] = [2]complex128{through(0, e), through(1, e)}
				}
			}
			b.s, b.plane = leaving[0].Field, q.faces[i].Normal
		}
		next(b, 0)
		q.drop()
		return
	}
	for w, kind := range [2]byte{'o', 'e'} {
		if !leaving[w].Travels {
			continue
		}
		b := q.fork(a)
		b.ride(&leaving[w].Wave)
		for m := range q.modes {
			for k := range 2 {
				switch {
				case in.Crystal != nil:
					b.light[m].inner[k] = t[w][from] * a.light[m].inner[k]
				case a.columns == 2:
					b.light[m].inner[k] = through(w, &a.light[m].e[k])
				default:
					b.light[m].inner[k] = through(w, &a.light[m].e[0]) * a.light[m].row[k]
				}
			}
		}
		next(b, kind)
		q.drop()
	}
}
