package program

import "math"

// meet works out how a path overlaps with the waiting mode, as a size and an optical path, and what double bounces
// along it bring in power. The integral is that of package beam for two equal collimators, lane by lane: the overlap is
// i (er + i ei) times the phase of the optical path.
func (p *Program) meet(a *path, s *Scene, l *Light, at *Pose, origin float64) {
	k := 2 * math.Pi / l.Wavelength
	w2 := l.Waist * l.Waist
	zr := k * w2 / 2
	v2 := 1 / (l.Ahead*l.Ahead + zr*zr)
	vr, vi := l.Ahead*v2, -zr*v2 // 1/v of the waiting mode
	size := 2 * zr               // 2 pi/k 2/(pi w^2) zr^2
	for i := range Width {
		bx, by, red := a.bx[i], a.by[i], a.red[i]
		wx, wy := at.TiltX[i]-a.kx[i], at.TiltY[i]-a.ky[i]
		ox, oy := at.X[i]-a.x[i], at.Y[i]-a.y[i]
		straight := wx*ox + wy*oy - red*(bx*bx+by*by)/2 +
			a.phase[i] + a.kx[i]*at.X[i] + a.ky[i]*at.Y[i] - origin
		// q of the mode sent, where it arrives, and 1/(v - q)
		qr := red - l.Ahead
		q2 := 1 / (qr*qr + zr*zr)
		ar, ai := qr*q2, zr*q2 // 1/q with q = qr - i zr
		er, ei := l.Ahead-qr, 2*zr
		e2 := 1 / (er*er + ei*ei)
		er, ei = er*e2, -ei*e2
		// over = q v/(v - q)
		pr, pi := qr*l.Ahead+zr*zr, zr*(qr-l.Ahead)
		or, oi := pr*er-pi*ei, pr*ei+pi*er
		ax, ay := -red*bx, -red*by
		xr, xi := vr*ox-ar*ax-bx-wx, vi*ox-ai*ax
		yr, yi := vr*oy-ar*ay-by-wy, vi*oy-ai*ay
		tr, ti := xr*xr-xi*xi+yr*yr-yi*yi, 2*(xr*xi+yr*yi)
		a2, o2 := ax*ax+ay*ay, ox*ox+oy*oy
		sr := ar*a2 - vr*o2 - (tr*or - ti*oi)
		si := ai*a2 - vi*o2 - (tr*oi + ti*or)
		e := size * math.Exp(-k*si/2-a.loss[i])
		a.er[i], a.ei[i] = e*er, e*ei
		a.way[i] = sr/2 + straight
	}
	for n := range p.pairs {
		p.bounced(a, s, l, at, n)
	}
}

// wave gives the overlap of a path its phase beyond that of a first one.
func (a *path) wave(first *path, wavelength float64) {
	if a == first {
		for i := range Width {
			a.re[i], a.im[i] = -a.ei[i], a.er[i]
		}
		return
	}
	k := 2 * math.Pi / wavelength
	for i := range Width {
		sin, cos := math.Sincos(k * (a.way[i] - first.way[i]))
		er, ei := a.er[i], a.ei[i]
		a.re[i], a.im[i] = -(er*sin + ei*cos), er*cos-ei*sin
	}
}

// whole turns the overlap of a path into its absolute value, in re, and an optical path with all of its phase.
func (a *path) whole(wavelength float64) {
	over := wavelength / (2 * math.Pi)
	for i := range Width {
		er, ei := a.er[i], a.ei[i] // ei is below zero
		a.re[i] = math.Sqrt(er*er + ei*ei)
		a.way[i] -= over * math.Atan(er/ei)
	}
}

// bounced is meet for one double bounce: its power is that of two equal Gaussian beams, from how far they are apart
// halfway between their waists, the angle between them, and how far their waists are apart.
func (p *Program) bounced(a *path, s *Scene, l *Light, at *Pose, n int) {
	q := p.pairs[n]
	k := 2 * math.Pi / l.Wavelength
	over, tilt := 1/(l.Waist*l.Waist), k*k*l.Waist*l.Waist/4
	gap := 1 / (k * l.Waist * l.Waist) // half over the Rayleigh range
	var shift, more, lost Lane
	for j := q.from; j < q.to; j++ {
		from, to := &s.Faces[j].At, &s.Faces[j+1].At
		index, absorption := l.Media[j].Index, l.Media[j].Absorption
		for i := range Width {
			over := 1 / a.normal[j][i]
			d := 2 * (to[i] - from[i]) * over
			shift[i] += d
			d *= index * over
			more[i] += d
			lost[i] += d * a.normal[j][i] * absorption
		}
	}
	t := &a.aside[q.run]
	for i := range Width {
		z := t.z[i] / a.kz[i]
		bx, by := a.bx[i], a.by[i]
		tx, ty := a.kx[i]-bx-at.TiltX[i], a.ky[i]-by-at.TiltY[i]
		red := a.red[i] + more[i]
		x := a.x[i] + shift[i]*(t.x[i]-z*a.kx[i]) - red*bx - at.X[i] - tx*red/2
		y := a.y[i] + shift[i]*(t.y[i]-z*a.ky[i]) - red*by - at.Y[i] - ty*red/2
		g := (red - 2*l.Ahead) * gap
		r := 1 / (1 + g*g)
		a.ghost[n][i] = r * s.bounce[n][i] * math.Exp(-(x*x+y*y)*over*r-(tx*tx+ty*ty)*tilt-lost[i]-2*a.loss[i])
	}
}
