package stack

import (
	"math"

	"wedgework/optics/element"
	"wedgework/optics/polar"
)

// A source of finite linewidth sees the beat of two arrivals only as far as its light remembers its phase over the
// difference of their group delays. Paths that were not reflected differ by the delay of a crystal, a picosecond or so,
// and count as one arrival; a double bounce differs by the way there and back, and is one of its own. What changes more
// slowly over wavelength than a beat is not averaged: that is the mean of a series over the source's spectrum.

// coherence returns the degree of coherence, from 1 to 0, of light of a Gaussian spectrum with the full width at half
// maximum fwhm, in hertz, after a delay in seconds: exp(-(pi fwhm delay)^2/(4 ln 2)), the modulus of the spectrum's
// Fourier transform (J. W. Goodman, Statistical Optics, sec. 5.1; from memory). An infinite width leaves nothing.
func coherence(fwhm, delay float64) float64 {
	if math.IsInf(fwhm, 1) {
		return 0
	}
	x := math.Pi * fwhm * delay
	return math.Exp(-x * x / (4 * math.Ln2))
}

// group is light that arrives together: all that was not reflected, or one double bounce.
type group struct {
	id    int
	sum   [maxModes]polar.Matrix
	slope polar.Matrix // dM/dw of mode 0

	// power is what the paths of the group carry, one by one, and late their power times their delay.
	power, late float64
	// Their power times what absorption took from their amplitude, in nepers; of returned light only.
	absorbed float64
}

// delay is the mean delay of the group's paths, in seconds.
func (g *group) delay() float64 {
	if g.power == 0 {
		return 0
	}
	return g.late / g.power
}

// add adds one path: its matrix m in a mode, and when it arrives.
func (g *group) add(mode int, m *polar.Matrix, delay float64) {
	for r := range 2 {
		for k := range 2 {
			v := m[r][k]
			g.sum[mode][r][k] += v
			if mode == 0 { // i times the delay
				g.slope[r][k] += complex(-delay*imag(v), delay*real(v))
			}
		}
	}
}

// weigh counts a path that was added into the delay of the group, which nothing but a linewidth asks for.
func (g *group) weigh(m *polar.Matrix, delay float64) {
	p := power(m[0][0]) + power(m[0][1]) + power(m[1][0]) + power(m[1][1])
	g.power += p
	g.late += p * delay
}

// total is what the groups add up to for a source of a linewidth in hertz: their powers, and their beats as far as the
// linewidth leaves any. The dominant matrix is the mean over the spectrum, seen from the light that was not reflected.
func total(direct *group, ghosts []group, modes int, fwhm float64) Point {
	var h, bounced polar.Gram
	m, slope := direct.sum[0], direct.slope
	for i := range modes {
		h.Add(direct.sum[i])
	}
	apart := math.IsInf(fwhm, 1)
	for i := range ghosts {
		a := &ghosts[i]
		for k := range modes {
			h.Add(a.sum[k])
			if apart {
				bounced.Add(a.sum[k])
			}
		}
		if apart {
			continue
		}
		visible := coherence(fwhm, a.delay()-direct.delay())
		m, slope = m.Add(a.sum[0].Scale(complex(visible, 0))), slope.Add(a.slope.Scale(complex(visible, 0)))
		for k := range modes {
			h.Beat(direct.sum[k], a.sum[k], visible)
		}
		for j := range i {
			b := &ghosts[j]
			visible := coherence(fwhm, a.delay()-b.delay())
			for k := range modes {
				h.Beat(a.sum[k], b.sum[k], visible)
			}
		}
	}
	p := Point{H: h, M: m, Bounced: bounced}
	p.T1, p.T2 = h.Extremes()
	var ok bool
	if p.Slow, p.Fast, ok = polar.Delays(m, slope); !ok {
		p.Slow, p.Fast = math.NaN(), math.NaN()
	}
	return p
}

// mueller is the Mueller matrix of the same: what each group brings, and the beats of any two as far as they are
// visible.
func mueller(direct *group, ghosts []group, modes int, fwhm float64) (m polar.Mueller) {
	for k := range modes {
		m.Add(direct.sum[k])
		for i := range ghosts {
			a := &ghosts[i]
			m.Add(a.sum[k])
			m.Beat(direct.sum[k], a.sum[k], coherence(fwhm, a.delay()-direct.delay()))
			for j := range i {
				m.Beat(a.sum[k], ghosts[j].sum[k], coherence(fwhm, a.delay()-ghosts[j].delay()))
			}
		}
	}
	return m
}

// crossing is the power by axes, those of launched light at the azimuth from and those of received light at to: what
// each group brings, and the beats of any two as far as they are visible.
func crossing(direct *group, ghosts []group, modes int, fwhm, from, to float64) (x polar.Crossing) {
	turned := func(g *group, mode int) polar.Matrix { return g.sum[mode].Between(from, to) }
	for k := range modes {
		m := turned(direct, k)
		x.Add(m)
		for i := range ghosts {
			a := &ghosts[i]
			g := turned(a, k)
			x.Add(g)
			if math.IsInf(fwhm, 1) {
				continue
			}
			x.Beat(m, g, coherence(fwhm, a.delay()-direct.delay()))
			for j := range i {
				x.Beat(g, turned(&ghosts[j], k), coherence(fwhm, a.delay()-ghosts[j].delay()))
			}
		}
	}
	return x
}

// fibres sets what a point has by the axes of the fibres at the ends of the stack, where they have axes.
func (p *Point) fibres(pair *element.Pigtails, d Direction, direct *group, ghosts []group, modes int, fwhm float64) {
	if !pair.Known() {
		return
	}
	from, to := pair.Ends[0], pair.Ends[1]
	if d == Backward {
		from, to = to, from
	}
	x := crossing(direct, ghosts, modes, fwhm, from.Slow(), to.Slow())
	p.Axes = x.Mixed(from.Crossed(), to.Crossed())
	if pair.Launched() == element.FastAxis {
		p.Along = 1
	}
}

// ripple is that of all pairs of groups, their phases independent of each other: those of double bounces over different
// lengths are. Modes share the phase of their group, and one beat is the sum of theirs.
func ripple(direct *group, ghosts []group, modes int) polar.Ripple {
	var r polar.Ripple
	beat := func(a, b *group) {
		var z polar.Matrix
		for k := range modes {
			z = z.Add(a.sum[k].Adjoint().Mul(b.sum[k]))
		}
		r.Beat(z)
	}
	for i := range ghosts {
		beat(direct, &ghosts[i])
		for j := range i {
			beat(&ghosts[j], &ghosts[i])
		}
	}
	arrivals := make([][2]polar.Matrix, len(ghosts))
	for i := range ghosts {
		arrivals[i] = [2]polar.Matrix{ghosts[i].sum[0], ghosts[i].slope}
	}
	r.DGD = polar.DelayRipple(direct.sum[0], direct.slope, arrivals)
	return r
}
