package face

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/ray"
)

// tangent holds the fields of a wave along the face: Es, Ha, Ea and -Hs, in the frame below. The first two
// belong to s polarization, the last two to p.
type tangent [4]complex128

// product returns the flux that f and g carry together through the face, (f* x g + g x f*)/2 along the
// normal: 1 for a wave of unit flux with itself, -1 if it comes back, 0 for two waves of one medium.
func product(f, g *tangent) complex128 {
	return (conj(f[0])*g[1] + conj(f[1])*g[0] + conj(f[2])*g[3] + conj(f[3])*g[2]) / 2
}

// alike tells whether two fields are one but for a factor and what rounding leaves of 1e-8: what follows
// from their difference would then be noise.
func alike(f, g *tangent) bool {
	var ff, gg, rest float64
	var both complex128
	for i := range f {
		ff += abs2(f[i])
		gg += abs2(g[i])
		both += conj(f[i]) * g[i]
	}
	for i := range f {
		rest += abs2(g[i] - both*f[i]/complex(ff, 0))
	}
	return rest < 1e-16*gg
}

func conj(z complex128) complex128 { return complex(real(z), -imag(z)) }

// frame is the coordinates of a face for one plane of incidence: along t, s = along x normal, normal.
type frame struct {
	t, normal, along, s r3.Vec
	t2                  float64 // square of t
}

// steep is the size of t below which the incidence counts as normal: s and p then differ by less than the
// square of it, and the direction of t is that of rounding errors.
const steep = 1e-10

func (f *frame) set(t, normal r3.Vec) {
	f.t, f.normal = ray.Tangential(t, normal), normal
	f.t2 = r3.Norm2(f.t)
	if f.t2 > steep*steep {
		f.along = r3.Scale(1/math.Sqrt(f.t2), f.t)
		f.s = r3.Cross(f.along, normal)
		return
	}
	f.s = r3.Scale(-1, across(normal))
	f.along = r3.Cross(normal, f.s)
}

// across returns a unit vector across the line of the unit vector a: the y axis made so, or the x axis where a
// runs near y. It is the same for a and -a.
func across(a r3.Vec) r3.Vec {
	ref := r3.Vec{Y: 1}
	if math.Abs(a.Y) > 0.9 {
		ref = r3.Vec{X: 1}
	}
	return unit(r3.Sub(ref, r3.Scale(r3.Dot(ref, a), a)))
}

// waves works out the two waves of a medium that travel along the normal or, if back, against it, and their
// tangential fields: at unit flux, or of unit size for an evanescent wave.
func (f *frame) waves(side *Side, back bool, m *[2]Mode, v *[2]tangent) {
	normal := f.normal
	if back {
		normal = r3.Scale(-1, normal)
	}
	if side.Crystal != nil {
		f.crystal(side.Crystal, normal, m, v)
		return
	}
	n := side.Index
	wave, ok := ray.Refract(f.t, normal, n, side.Group)
	if !ok {
		// N = t + i q along the normal dies away on the side to which it is sent.
		q := complex(0, math.Copysign(math.Sqrt(max(f.t2-n*n, 0)), r3.Dot(normal, f.normal)))
		v[0] = tangent{1, q}
		v[1] = tangent{2: q / complex(n, 0), 3: complex(n, 0)}
		return
	}
	q := r3.Dot(wave.N, f.normal)
	k := 1 / math.Sqrt(math.Abs(q)) // E = s has H = N x s: the flux is q, and as much for p
	v[0] = tangent{complex(k, 0), complex(k*q, 0)}
	v[1] = tangent{2: complex(k*q/n, 0), 3: complex(k*n, 0)}
	m[0] = Mode{wave, f.s, true}
	m[1] = Mode{wave, r3.Cross(wave.S, f.s), true}
}

// crystal is waves for a uniaxial medium. With h = N x axis: the ordinary wave has E along h; the
// extraordinary one has H along h, so E is eps^-1 (N x h) as Maxwell's equations have it.
func (f *frame) crystal(u *ray.Uniaxial, normal r3.Vec, m *[2]Mode, v *[2]tangent) {
	io, ie := 1/(u.O*u.O), 1/(u.E*u.E)
	d := io - ie
	ord, ordinary := u.Ordinary(f.t, normal)
	ext, extraordinary := u.Extraordinary(f.t, normal)
	var h r3.Vec
	if ordinary {
		h = acrossAxis(ord.N, u)
		e := unit(h)
		m[0] = Mode{ord, e, true}
		v[0] = f.unitFlux(e, r3.Cross(ord.N, e))
	} else {
		v[0] = f.evanescentOrdinary(u, normal)
	}
	if !extraordinary {
		v[1] = f.evanescentExtraordinary(u, normal)
		return
	}
	if h2 := r3.Norm2(h); ordinary && h2 < nearAxis*u.O*u.O {
		// Near the axis both waves are nearly one, and N x axis is small and holds rounding errors. Taking
		// it for o and the difference, to full accuracy, for e keeps the two fields orthogonal. The
		// difference is a root of the dispersion surface of e, less its value d h^2 at the N of o.
		nc := r3.Dot(normal, u.Axis)
		a, b := d*nc*nc+ie, d*r3.Dot(f.t, u.Axis)*nc
		step := d * h2 / (a*(r3.Dot(ord.N, normal)+r3.Dot(ext.N, normal)) + 2*b)
		h = r3.Add(h, r3.Scale(step, r3.Cross(normal, u.Axis)))
	} else {
		h = r3.Cross(ext.N, u.Axis)
	}
	h = unit(h)
	x := r3.Cross(ext.N, h)
	e := r3.Sub(r3.Scale(io, x), r3.Scale(d*r3.Dot(x, u.Axis), u.Axis))
	m[1] = Mode{ext, unit(e), true}
	v[1] = f.unitFlux(e, r3.Scale(-1, h))
}

// nearAxis is the square of the angle to the optic axis, in radians, below which rounding errors in the
// direction of N x axis would show at 1e-13.
const nearAxis = 1e-6

// acrossAxis returns N x axis, or a vector across both where they run along one line.
func acrossAxis(n r3.Vec, u *ray.Uniaxial) r3.Vec {
	h := r3.Cross(n, u.Axis)
	h2, o2 := r3.Norm2(h), u.O*u.O
	switch {
	case h2 > nearAxis*o2:
		return h
	case h2 > 1e-26*o2: // what rounding has put along N would be no field of a wave
		return r3.Sub(h, r3.Scale(r3.Dot(h, n)/o2, n))
	}
	// Far too small to matter as an angle, so that any field serves; it changes sign with N and with the
	// axis, as N x axis does.
	return r3.Scale(math.Copysign(1e-13*u.O, -r3.Dot(n, u.Axis)), across(u.Axis))
}

// unit returns v at unit size. The vectors here are neither huge nor tiny, so that it can do without the
// guard against overflow that takes most of the time of r3.Unit.
func unit(v r3.Vec) r3.Vec { return r3.Scale(1/math.Sqrt(r3.Norm2(v)), v) }

// unitFlux returns the fields e and h of a travelling wave along the face, at unit flux.
func (f *frame) unitFlux(e, h r3.Vec) tangent {
	es, ha, ea, hs := r3.Dot(e, f.s), r3.Dot(h, f.along), r3.Dot(e, f.along), r3.Dot(h, f.s)
	k := 1 / math.Sqrt(math.Abs(es*ha-ea*hs))
	return tangent{complex(k*es, 0), complex(k*ha, 0), complex(k*ea, 0), complex(-k*hs, 0)}
}

// vector is a complex vector of space.
type vector struct{ x, y, z complex128 }

func (a vector) dot(b r3.Vec) complex128 {
	return a.x*complex(b.X, 0) + a.y*complex(b.Y, 0) + a.z*complex(b.Z, 0)
}

func (a vector) cross(b vector) vector {
	return vector{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x}
}

func (a vector) scale(k complex128) vector { return vector{k * a.x, k * a.y, k * a.z} }

// unit returns a at unit size.
func (a vector) unit() vector {
	size := math.Sqrt(abs2(a.x) + abs2(a.y) + abs2(a.z))
	return a.scale(complex(1/size, 0))
}

func abs2(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// toComplex returns a + k b.
func toComplex(a r3.Vec, k complex128, b r3.Vec) vector {
	return vector{
		complex(a.X, 0) + k*complex(b.X, 0),
		complex(a.Y, 0) + k*complex(b.Y, 0),
		complex(a.Z, 0) + k*complex(b.Z, 0),
	}
}

func (f *frame) components(e, h vector) tangent {
	return tangent{e.dot(f.s), h.dot(f.along), e.dot(f.along), -h.dot(f.s)}
}

// evanescentOrdinary returns the fields of the ordinary wave beyond its critical angle.
func (f *frame) evanescentOrdinary(u *ray.Uniaxial, normal r3.Vec) tangent {
	n := toComplex(f.t, complex(0, math.Sqrt(max(f.t2-u.O*u.O, 0))), normal)
	e := n.cross(toComplex(u.Axis, 0, u.Axis)).unit()
	return f.components(e, n.cross(e))
}

// evanescentExtraordinary returns the fields of the extraordinary wave beyond its critical angle, from the
// complex root of the quadratic that ray.Uniaxial.Extraordinary solves.
func (f *frame) evanescentExtraordinary(u *ray.Uniaxial, normal r3.Vec) tangent {
	io, ie := 1/(u.O*u.O), 1/(u.E*u.E)
	d := io - ie
	nc, tc := r3.Dot(normal, u.Axis), r3.Dot(f.t, u.Axis)
	a, b, c := d*nc*nc+ie, d*tc*nc, d*tc*tc+ie*f.t2-1
	q := (complex(-b, 0) + cmplx.Sqrt(complex(min(b*b-a*c, 0), 0))) / complex(a, 0)
	n := toComplex(f.t, q, normal)
	h := n.cross(toComplex(u.Axis, 0, u.Axis)).unit()
	x := n.cross(h)
	along := complex(-d, 0) * x.dot(u.Axis)
	e := x.scale(complex(io, 0))
	e.x += along * complex(u.Axis.X, 0)
	e.y += along * complex(u.Axis.Y, 0)
	e.z += along * complex(u.Axis.Z, 0)
	return f.components(e, h.scale(-1))
}
