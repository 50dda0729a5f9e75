package program

import "math"

// state is the light of one path on its way, in every stack.
type state struct {
	kx, ky, kz Lane // wave vector
	sx, sy, sz Lane // along the extraordinary ray, as long as it likes
	spread     Lane // diffraction of that ray for each metre of z
	x, y, z    Lane // where the base ray is, m
	red        Lane // free-space distance that diffracts as much, m
	phase      Lane // optical path along the z axis, m
	loss       Lane // of the amplitude by absorption, in nepers
	delay      Lane // group delay, s
	before     Lane // z where the last face was left, for the delay
}

// start sends a path off along a base ray.
func (a *state) start(s *Scene, bx, by *Lane) {
	first := &s.Faces[0].At
	for i := range Width {
		x, y := bx[i], by[i]
		z := math.Sqrt(1 - x*x - y*y)
		a.kx[i], a.ky[i], a.kz[i] = x, y, z
		a.x[i], a.y[i], a.z[i] = 0, 0, s.In[i]
		a.red[i], a.loss[i] = 0, 0
		a.phase[i] = z * (first[i] - s.In[i])
	}
}

// along counts the phase from one face to the next.
func (a *state) along(from, to *Lane) {
	for i := range Width {
		a.phase[i] += a.kz[i] * (to[i] - from[i])
	}
}

// travel goes to a face through a medium of index n, along the wave vector.
func (a *state) travel(f *Face, n, absorption float64) {
	half := n * absorption / 2
	for i := range Width {
		kx, ky, kz := a.kx[i], a.ky[i], a.kz[i]
		nx, ny, nz := f.X[i], f.Y[i], f.Z[i]
		across := kx*nx + ky*ny + kz*nz
		both := 1 / (across * kz)
		d := ((f.At[i]-a.z[i])*nz - a.x[i]*nx - a.y[i]*ny) * both * kz
		a.x[i] += d * kx
		a.y[i] += d * ky
		a.z[i] += d * kz
		a.red[i] += d * n * both * across
		a.loss[i] += d * half
	}
}

// layer goes from one flat face to the next through an isotropic medium, and counts the phase.
func (a *state) layer(from, to *Lane, n, absorption float64) {
	half := n * absorption / 2
	for i := range Width {
		kz := a.kz[i]
		dz := to[i] - from[i]
		over := 1 / kz
		d := dz * over
		a.x[i] += d * a.kx[i]
		a.y[i] += d * a.ky[i]
		a.z[i] = to[i]
		a.phase[i] += kz * dz
		a.red[i] += d * n * over
		a.loss[i] += d * half
	}
}

// walk goes to a face along the extraordinary ray.
func (a *state) walk(f *Face) {
	for i := range Width {
		sx, sy, sz := a.sx[i], a.sy[i], a.sz[i]
		nx, ny, nz := f.X[i], f.Y[i], f.Z[i]
		d := ((f.At[i]-a.z[i])*nz - a.x[i]*nx - a.y[i]*ny) / (sx*nx + sy*ny + sz*nz)
		a.x[i] += d * sx
		a.y[i] += d * sy
		d *= sz
		a.z[i] += d
		a.red[i] += d * a.spread[i]
	}
}

// enter crosses a flat face into an isotropic medium, or as the ordinary wave.
func (a *state) enter(n float64) {
	n2 := n * n
	for i := range Width {
		kx, ky := a.kx[i], a.ky[i]
		a.kz[i] = math.Sqrt(n2 - kx*kx - ky*ky)
	}
}

// bend crosses a face that is not flat in the same way.
func (a *state) bend(f *Face, n float64) {
	n2 := n * n
	for i := range Width {
		nx, ny, nz := f.X[i], f.Y[i], f.Z[i]
		kx, ky, kz := a.kx[i], a.ky[i], a.kz[i]
		kn := kx*nx + ky*ny + kz*nz
		q := math.Sqrt(n2-(kx*kx+ky*ky+kz*kz)+kn*kn) - kn
		a.kx[i], a.ky[i], a.kz[i] = kx+q*nx, ky+q*ny, kz+q*nz
	}
}

// part crosses a face as the extraordinary wave of a crystal with indices o and e.
func (a *state) part(f *Face, axis *Axis, o, e float64) {
	a.split(f, axis, o, e)
	a.ray(axis, o, e)
}

// split is part without the ray.
func (a *state) split(f *Face, axis *Axis, o, e float64) {
	ie := 1 / (e * e)
	d := 1/(o*o) - ie
	for i := range Width {
		nx, ny, nz := f.X[i], f.Y[i], f.Z[i]
		cx, cy, cz := axis.X[i], axis.Y[i], axis.Z[i]
		kx, ky, kz := a.kx[i], a.ky[i], a.kz[i]
		kn := kx*nx + ky*ny + kz*nz
		tx, ty, tz := kx-kn*nx, ky-kn*ny, kz-kn*nz
		nc, tc := nx*cx+ny*cy+nz*cz, tx*cx+ty*cy+tz*cz
		p := d*nc*nc + ie
		b := d * tc * nc
		c := d*tc*tc + (tx*tx+ty*ty+tz*tz)*ie - 1
		q := (math.Sqrt(b*b-p*c) - b) / p
		a.kx[i], a.ky[i], a.kz[i] = tx+q*nx, ty+q*ny, tz+q*nz
	}
}

// ray sets the ray of an extraordinary wave.
func (a *state) ray(axis *Axis, o, e float64) {
	ie := 1 / (e * e)
	d := 1/(o*o) - ie
	for i := range Width {
		cx, cy, cz := axis.X[i], axis.Y[i], axis.Z[i]
		kx, ky, kz := a.kx[i], a.ky[i], a.kz[i]
		kc := d * (kx*cx + ky*cy + kz*cz)
		sx, sy, sz := kc*cx+kx*ie, kc*cy+ky*ie, kc*cz+kz*ie
		a.sx[i], a.sy[i], a.sz[i] = sx, sy, sz
		over := 1 / sz
		ux, uy := sx*over, sy*over
		ax, ay := cx-ux*cz, cy-uy*cz
		a.spread[i] = (ie*(2+ux*ux+uy*uy) + d*(ax*ax+ay*ay)) * over / 2
	}
}

// end goes on to the plane of the receiving lens face.
func (a *state) end(s *Scene) {
	last := &s.Faces[len(s.Faces)-1].At
	for i := range Width {
		kz := a.kz[i]
		over := 1 / kz
		d := (s.Out[i] - a.z[i]) * over
		a.phase[i] += kz * (s.Out[i] - last[i])
		a.x[i] += d * a.kx[i]
		a.y[i] += d * a.ky[i]
		a.red[i] += d * over
	}
}

// late counts the group delay of what was travelled since before in a medium of phase index n and a group index.
func (a *state) late(n, group float64) {
	slow := n * group / lightSpeed
	for i := range Width {
		a.delay[i] += slow * (a.z[i] - a.before[i]) / a.kz[i]
	}
	a.before = a.z
}

// lateAside is late for the extraordinary ray of a crystal.
func (a *state) lateAside(axis *Axis, m *Medium) {
	along, across := (m.GroupO-m.O)/(m.O*m.O*m.O), (m.GroupE-m.E)/(m.E*m.E*m.E)
	for i := range Width {
		kx, ky, kz := a.kx[i], a.ky[i], a.kz[i]
		kc := kx*axis.X[i] + ky*axis.Y[i] + kz*axis.Z[i]
		kc *= kc
		slow := (1 + kc*along + (kx*kx+ky*ky+kz*kz-kc)*across) / lightSpeed
		a.delay[i] += slow * (a.z[i] - a.before[i]) / a.sz[i]
	}
	a.before = a.z
}

const lightSpeed = 299792458 // m/s

// fields sets the components, as long as they like, of the ordinary field in the plane of incidence of a crystal's
// face, and multiplies norm by the square of their length. inside: the wave is the ordinary one in the crystal.
func (a *state) fields(f *Face, axis *Axis, o float64, inside bool, s, p, norm *Lane) {
	n2 := o * o
	for i := range Width {
		nx, ny, nz := f.X[i], f.Y[i], f.Z[i]
		cx, cy, cz := axis.X[i], axis.Y[i], axis.Z[i]
		kx, ky, kz := a.kx[i], a.ky[i], a.kz[i]
		kn := kx*nx + ky*ny + kz*nz
		t2 := kx*kx + ky*ky + kz*kz - kn*kn
		q := kn
		if !inside {
			q = math.Sqrt(n2 - t2)
		}
		nc := nx*cx + ny*cy + nz*cz
		fs := q*(kx*cx+ky*cy+kz*cz-kn*nc) - t2*nc
		fp := o * (nx*(ky*cz-kz*cy) + ny*(kz*cx-kx*cz) + nz*(kx*cy-ky*cx))
		s[i], p[i] = fs, fp
		norm[i] *= fs*fs + fp*fp
	}
}

// flatFields is fields for a flat face.
func (a *state) flatFields(axis *Axis, o float64, inside bool, s, p, norm *Lane) {
	n2 := o * o
	for i := range Width {
		cx, cy, cz := axis.X[i], axis.Y[i], axis.Z[i]
		kx, ky := a.kx[i], a.ky[i]
		t2 := kx*kx + ky*ky
		q := a.kz[i]
		if !inside {
			q = math.Sqrt(n2 - t2)
		}
		fs := q*(kx*cx+ky*cy) - t2*cz
		fp := o * (kx*cy - ky*cx)
		s[i], p[i] = fs, fp
		norm[i] *= fs*fs + fp*fp
	}
}
