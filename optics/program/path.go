package program

import "math"

// path is one way through the crystals, and what is known of it in every stack.
type path struct {
	state
	kinds  []bool // by crystal: the extraordinary ray
	bx, by Lane   // base ray

	// The ordinary field's components where light enters and leaves each crystal, and the product of the squares of
	// their lengths, of which the root is taken once.
	inS, inP, outS, outP []Lane
	norm                 Lane
	turned               []vector // wave vector at each change of the plane of incidence, hop by hop
	along, across        []Lane   // of each hop: components of the field behind, along and across that before
	launched, received   [2]Lane  // the row and the column of the path, as long as norm says

	// inner is the number between them: [backward][crossing][film passed three times + 1].
	inner [2][1 << mostFilms][mostFilms + 1]Lane
	er    Lane // overlap, but for the phase of the optical path
	ei    Lane
	way   Lane // that optical path, m
	re    Lane // overlap
	im    Lane
	ghost []Lane // power of the overlap of each double bounce

	normal []Lane   // N.z by part, for double bounces
	aside  []vector // by run: where light arrives that leaves it displaced by the tangential wave vector

	px, py, ptx, pty Lane // its own pose: behind the chief ray
	weight           Lane // its power, but for the overlap
}

type vector struct{ x, y, z Lane }

func (p *Program) path(kinds []bool) *path {
	n, changes := len(kinds), 0
	for _, h := range p.hops {
		changes += len(h.changes)
	}
	return &path{kinds: kinds,
		inS: make([]Lane, n), inP: make([]Lane, n), outS: make([]Lane, n), outP: make([]Lane, n),
		turned: make([]vector, changes), along: make([]Lane, n-1), across: make([]Lane, n-1),
		ghost: make([]Lane, len(p.pairs)), normal: make([]Lane, len(p.parts)), aside: make([]vector, len(p.runs))}
}

// follow traces a path along its base ray; whole: with all that its light needs, beside where it arrives.
func (p *Program) follow(a *path, s *Scene, l *Light, bx, by *Lane, whole bool) {
	a.start(s, bx, by)
	timed := whole && p.timed
	if whole {
		a.norm.Fill(1)
		if timed {
			a.delay, a.before = Lane{}, s.In
		}
	}
	p.lead(a, s, l, -1, 0, len(p.parts), whole)
	a.end(s)
	if timed {
		a.z = s.Out
		a.late(1, 1)
	}
}

// lead takes a path over the faces from one on. crystal is the one that light is in there or was in last.
func (p *Program) lead(a *path, s *Scene, l *Light, crystal, from, to int, whole bool) {
	timed, change := whole && p.timed, 0
	for j := from; j < to; j++ {
		f := &s.Faces[j]
		inside := j > 0 && p.parts[j-1].Crystal
		switch {
		case inside && a.kinds[crystal]:
			a.state.along(&s.Faces[j-1].At, &f.At)
			a.walk(f)
		case inside:
			a.state.along(&s.Faces[j-1].At, &f.At)
			a.travel(f, l.Media[j-1].O, 0)
		case j == 0:
			a.travel(f, 1, 0)
		case p.parts[j-1].Flat && p.parts[j].Flat:
			a.layer(&s.Faces[j-1].At, &f.At, l.Media[j-1].Index, l.Media[j-1].Absorption)
		default:
			if whole && crystal >= 0 && crystal < len(p.hops) {
				a.turned[change] = vector{a.kx, a.ky, a.kz}
				change++
			}
			a.state.along(&s.Faces[j-1].At, &f.At)
			a.travel(f, l.Media[j-1].Index, l.Media[j-1].Absorption)
		}
		if timed {
			a.clock(s, l, j, crystal, inside)
		}
		if whole && inside {
			p.fieldsAt(a, s, l, j, crystal, !a.kinds[crystal], &a.outS[crystal], &a.outP[crystal])
		}
		if whole && len(p.runs) > 0 {
			p.carry(a, f, j, inside && a.kinds[crystal])
		}
		p.crossing(a, s, l, j, &crystal, whole)
		if whole && len(p.pairs) > 0 {
			a.normal[j] = a.kz
		}
	}
}

// clock counts the delay of the way to face j.
func (a *path) clock(s *Scene, l *Light, j, crystal int, inside bool) {
	switch {
	case j == 0:
		a.late(1, 1)
	case inside && a.kinds[crystal]:
		a.lateAside(&s.Axes[crystal], &l.Media[j-1])
	case inside:
		a.late(l.Media[j-1].O, l.Media[j-1].GroupO)
	default:
		a.late(l.Media[j-1].Index, l.Media[j-1].Group)
	}
}

// crossing takes a path over a face.
func (p *Program) crossing(a *path, s *Scene, l *Light, j int, crystal *int, whole bool) {
	f, m, part := &s.Faces[j], &l.Media[j], p.parts[j]
	n := m.Index
	if part.Crystal {
		*crystal++
		n = m.O
		if a.kinds[*crystal] {
			if whole {
				p.fieldsAt(a, s, l, j, *crystal, false, &a.inS[*crystal], &a.inP[*crystal])
			}
			a.state.part(f, &s.Axes[*crystal], m.O, m.E)
			return
		}
	}
	if part.Flat {
		a.enter(n)
	} else {
		a.bend(f, n)
	}
	if whole && part.Crystal {
		p.fieldsAt(a, s, l, j, *crystal, true, &a.inS[*crystal], &a.inP[*crystal])
	}
}

func (p *Program) fieldsAt(a *path, s *Scene, l *Light, face, crystal int, known bool, fs, fp *Lane) {
	o := l.Media[p.crystals[crystal]].O
	if p.parts[face].Flat {
		a.flatFields(&s.Axes[crystal], o, known, fs, fp, &a.norm)
	} else {
		a.fields(&s.Faces[face], &s.Axes[crystal], o, known, fs, fp, &a.norm)
	}
}

// carry takes what is displaced on to a face that light has come to, as the ordinary or the extraordinary ray.
func (p *Program) carry(a *path, f *Face, j int, extraordinary bool) {
	x, y, z := &a.kx, &a.ky, &a.kz
	if extraordinary {
		x, y, z = &a.sx, &a.sy, &a.sz
	}
	for n, r := range p.runs {
		t := &a.aside[n]
		switch {
		case j == r.last:
			t.x, t.y, t.z = a.kx, a.ky, Lane{}
		case j > r.last:
			for i := range Width {
				nx, ny, nz := f.X[i], f.Y[i], f.Z[i]
				sx, sy, sz := x[i], y[i], z[i]
				d := (t.x[i]*nx + t.y[i]*ny + t.z[i]*nz) / (sx*nx + sy*ny + sz*nz)
				t.x[i] -= d * sx
				t.y[i] -= d * sy
				t.z[i] -= d * sz
			}
		}
	}
}

// polarize works out the row, the column and the inner numbers of a path that was followed whole.
func (p *Program) polarize(a *path, s *Scene, l *Light) {
	last := len(a.kinds) - 1
	a.frame(&s.Faces[0], &a.inS[0], &a.inP[0], a.kinds[0], &a.bx, &a.by, &a.launched)
	a.frame(&s.Faces[len(s.Faces)-1], &a.outS[last], &a.outP[last], a.kinds[last], &a.kx, &a.ky, &a.received)
	change := 0
	for c, h := range p.hops {
		hopping(&a.outS[c], &a.outP[c], a.kinds[c], &a.inS[c+1], &a.inP[c+1], a.kinds[c+1], &a.along[c], &a.across[c])
		for _, j := range h.changes {
			a.replane(&s.Faces[j], &s.Faces[j+1], &a.turned[change], &a.along[c], &a.across[c])
			change++
		}
	}
	for i := range Width {
		a.norm[i] = 1 / math.Sqrt(a.norm[i])
	}
	for back := range 2 {
		sign := 1 - 2*float64(back)
		for mode := range p.modes() {
			for passed := range p.variants() {
				p.through(a, l, &a.inner[back][mode][passed], mode, passed-1, sign)
			}
		}
	}
	weight := &a.weight
	*weight = Lane{}
	for mode := range p.modes() {
		v := &a.inner[0][mode][0]
		for i := range Width {
			weight[i] += v[i] * v[i]
		}
	}
	for i := range Width {
		u0, u1, v0, v1 := a.launched[0][i], a.launched[1][i], a.received[0][i], a.received[1][i]
		weight[i] *= (u0*u0 + u1*u1) * (v0*v0 + v1*v1) * (1 - 2*a.loss[i]*(1-a.loss[i]))
	}
}

// modes is how many ways there are for films to turn light further or not.
func (p *Program) modes() int {
	if !p.filmed {
		return 1
	}
	return 1 << len(p.films)
}

// variants is how many products of films there are: the plain one, and for double bounces one for each film.
func (p *Program) variants() int {
	if len(p.pairs) == 0 {
		return 1
	}
	return 1 + len(p.films)
}

// frame sets the components along x and y of the field in the plane of incidence of a face, for light along k whose own
// x and y are turned from those of the z axis by the least angle.
func (a *path) frame(f *Face, fs, fp *Lane, extraordinary bool, kx, ky *Lane, into *[2]Lane) {
	sign, first, second := 1.0, fs, fp
	if extraordinary {
		sign, first, second = -1, fp, fs
	}
	for i := range Width {
		x, y := kx[i], ky[i]
		z := math.Sqrt(1 - x*x - y*y)
		nx, ny, nz := f.X[i], f.Y[i], f.Z[i]
		sx, sy, sz := ny*z-nz*y, nz*x-nx*z, nx*y-ny*x
		m := 1 / (1 + z)
		c := sx*(1-x*x*m) - sy*x*y*m - sz*x
		w := -sx*x*y*m + sy*(1-y*y*m) - sz*y
		s, p := sign*first[i], second[i]
		into[0][i], into[1][i] = s*c-p*w, s*w+p*c
		a.norm[i] *= c*c + w*w
	}
}

// hopping sets the field that enters a crystal, along and across the one that left the crystal before.
func hopping(outS, outP *Lane, outE bool, inS, inP *Lane, inE bool, along, across *Lane) {
	// The extraordinary field is the ordinary one turned by 90 deg: two of a kind differ as the ordinary ones do.
	switch {
	case outE == inE:
		for i := range Width {
			along[i] = outS[i]*inS[i] + outP[i]*inP[i]
			across[i] = outS[i]*inP[i] - outP[i]*inS[i]
		}
	case inE:
		for i := range Width {
			along[i] = outP[i]*inS[i] - outS[i]*inP[i]
			across[i] = outS[i]*inS[i] + outP[i]*inP[i]
		}
	default:
		for i := range Width {
			along[i] = outS[i]*inP[i] - outP[i]*inS[i]
			across[i] = -outS[i]*inS[i] - outP[i]*inP[i]
		}
	}
}

// replane accounts for the planes of incidence of two faces that light along k meets one after the other.
func (a *path) replane(f, g *Face, k *vector, along, across *Lane) {
	for i := range Width {
		x, y, z := k.x[i], k.y[i], k.z[i]
		fx, fy, fz, gx, gy, gz := f.X[i], f.Y[i], f.Z[i], g.X[i], g.Y[i], g.Z[i]
		n2 := x*x + y*y + z*z
		c := (fx*gx+fy*gy+fz*gz)*n2 - (fx*x+fy*y+fz*z)*(gx*x+gy*y+gz*z)
		w := math.Sqrt(n2) * (fx*(gy*z-gz*y) + fy*(gz*x-gx*z) + fz*(gx*y-gy*x))
		a.norm[i] *= c*c + w*w
		p, q := along[i], across[i]
		along[i], across[i] = c*p-w*q, c*q+w*p
	}
}

// through multiplies what the hops leave of the field. A film in the path of a double bounce, thrice, is passed three
// times; sign is that of its rotation.
func (p *Program) through(a *path, l *Light, into *Lane, mode, thrice int, sign float64) {
	*into = a.norm
	for c, h := range p.hops {
		along, across := &a.along[c], &a.across[c]
		if h.film < 0 {
			for i := range Width {
				into[i] *= along[i]
			}
			continue
		}
		f := &l.Films[h.film]
		if mode>>h.film&1 == 0 {
			for i := range Width {
				sin, cos := f.Sin[i], f.Cos[i]
				if h.film == thrice {
					sin, cos = sin*(3-4*sin*sin), cos*(4*cos*cos-3)
				}
				into[i] *= f.Kept[i] * (cos*along[i] + sign*sin*across[i])
			}
			continue
		}
		for i := range Width {
			sin, cos := f.Sin[i], f.Cos[i]
			if h.film == thrice {
				sin, cos = sin*(3-4*sin*sin), cos*(4*cos*cos-3)
			}
			into[i] *= f.Crossed[i] * (sign*cos*across[i] - sin*along[i])
		}
	}
}
