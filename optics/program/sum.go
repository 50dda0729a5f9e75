package program

import (
	"math"

	"wedgework/optics/polar"
)

// Powers are the greatest and the least power transmission over all states of polarization.
type Powers struct{ T1, T2 Lane }

// Passed is what stacks do to light at a point. DGD is that forward, in seconds; zero unless Asked.
type Passed struct {
	Forward, Backward Powers
	DGD               Lane
}

// Asked is what is wanted of the points, beside the light forward: the bounds on it, and the time it takes.
type Asked struct {
	Backward bool // what comes back must be right however little it is
	DGD      bool
}

// gram is the power that arrives by launch polarization.
type gram struct{ xx, yy, re, im Lane }

// add adds what two paths bring together, in one direction: their coherence times the column of one seen along that of
// the other is the weight of the product of their rows.
func (h *gram) add(a, b *path, back bool, re, im *Lane) {
	launched, received := [2]*[2]Lane{&a.launched, &b.launched}, [2]*[2]Lane{&a.received, &b.received}
	if back {
		launched, received = received, launched
	}
	a0, a1, b0, b1 := &launched[0][0], &launched[0][1], &launched[1][0], &launched[1][1]
	c0, c1, d0, d1 := &received[0][0], &received[0][1], &received[1][0], &received[1][1]
	for i := range Width {
		dot := c0[i]*d0[i] + c1[i]*d1[i]
		v, w := re[i]*dot, im[i]*dot
		h.xx[i] += 2 * v * a0[i] * b0[i]
		h.yy[i] += 2 * v * a1[i] * b1[i]
		p, q := a0[i]*b1[i], a1[i]*b0[i]
		h.re[i] += v * (p + q)
		h.im[i] += w * (p - q)
	}
}

// alone adds what a path brings by itself, of a power.
func (h *gram) alone(a *path, back bool, power *Lane) {
	launched, received := &a.launched, &a.received
	if back {
		launched, received = received, launched
	}
	a0, a1, c0, c1 := &launched[0], &launched[1], &received[0], &received[1]
	for i := range Width {
		v := power[i] * (c0[i]*c0[i] + c1[i]*c1[i])
		h.xx[i] += v * a0[i] * a0[i]
		h.yy[i] += v * a1[i] * a1[i]
		h.re[i] += v * a0[i] * a1[i]
	}
}

// join adds what two paths bring together, but for their phases, with these.
func (h *gram) join(c *gram, sinA, cosA, sinB, cosB *Lane) {
	for i := range Width {
		cos := cosA[i]*cosB[i] + sinA[i]*sinB[i]
		sin := cosA[i]*sinB[i] - sinA[i]*cosB[i]
		h.xx[i] += c.xx[i] * cos
		h.yy[i] += c.yy[i] * cos
		h.re[i] += c.re[i] * cos
		h.im[i] += c.im[i] * sin
	}
}

// extremes takes the eigenvalues, scaled by what all paths share.
func (h *gram) extremes(scale *Lane, into *Powers) {
	for i := range Width {
		mean, half := (h.xx[i]+h.yy[i])/2, (h.xx[i]-h.yy[i])/2
		x := h.re[i]*h.re[i] + h.im[i]*h.im[i]
		t := mean + math.Sqrt(half*half+x)
		both := h.xx[i] * h.yy[i]
		t2 := both - x
		if !(t2 > rounding*both) {
			t2 = 0
		}
		into.T1[i], into.T2[i] = t*scale[i], t2/t*scale[i]
	}
}

// rounding is what is left of a difference of two equal numbers that were summed from four products each.
const rounding = 4 * 0x1p-52

// total adds the paths up in both directions, which share how two of them cohere.
func (m *Machine) total(s *Scene) {
	m.grams = [2]gram{}
	for x, a := range m.paths {
		for _, b := range m.paths[:x+1] {
			re, im, v, w := &m.re, &m.im, &m.both, &m.weights[0]
			for i := range Width {
				re[i] = a.re[i]*b.re[i] + a.im[i]*b.im[i]
				im[i] = a.re[i]*b.im[i] - a.im[i]*b.re[i]
			}
			for d := range m.grams {
				m.weigh(a, b, d == 1)
				for i := range Width {
					v[i] = w[i] * re[i]
				}
				if a == b {
					m.bounces(a, v)
					m.grams[d].alone(a, d == 1, v)
					continue
				}
				for i := range Width {
					w[i] *= im[i]
				}
				m.grams[d].add(a, b, d == 1, v, w)
			}
		}
	}
	m.grams[0].extremes(&s.pass, &m.Passed.Forward)
	m.grams[1].extremes(&s.pass, &m.Passed.Backward)
}

// weigh sets the weights of two paths together: what films leave of their fields, in every way to turn them further,
// and of one path the same for its double bounces.
func (m *Machine) weigh(a, b *path, back bool) {
	p, d := m.program, 0
	if back {
		d = 1
	}
	for passed := range p.variants() {
		w := &m.weights[passed]
		*w = Lane{}
		for mode := range p.modes() {
			u, v := &a.inner[d][mode][passed], &b.inner[d][mode][passed]
			for i := range Width {
				w[i] += u[i] * v[i]
			}
		}
		if a != b { // double bounces of two paths do not interfere
			return
		}
	}
}

// bounces adds the power of a path's double bounces.
func (m *Machine) bounces(a *path, power *Lane) {
	for n, q := range m.program.pairs {
		v, g := &m.weights[q.film+1], &a.ghost[n]
		for i := range Width {
			power[i] += v[i] * g[i]
		}
	}
}

// delays finds the differential group delay of the light forward that no film has turned further, and leaves stacks to
// the tracer that let one state of polarization through only.
func (m *Machine) delays(at *Pose) {
	for i := range Width {
		var matrix, slope polar.Matrix
		first := 0.0
		for n, a := range m.paths {
			delay := a.arrival(at, i)
			if n == 0 {
				first = delay
			}
			delay -= first
			v := a.inner[0][0][0][i]
			for r := range 2 {
				for c := range 2 {
					w := v * a.received[r][i] * a.launched[c][i]
					re, im := w*a.re[i], w*a.im[i]
					matrix[r][c] += complex(re, im)
					slope[r][c] += complex(-delay*im, delay*re)
				}
			}
		}
		m.delay(i, matrix, slope)
	}
}

// arrival is the delay of a path of stack i where the receiver stands.
func (a *path) arrival(at *Pose, i int) float64 {
	return a.delay[i] + (a.kx[i]*(at.X[i]-a.x[i])+a.ky[i]*(at.Y[i]-a.y[i]))/lightSpeed
}

// delay sets the delay of stack i from its matrix and that matrix's slope over frequency.
func (m *Machine) delay(i int, matrix, slope polar.Matrix) {
	slow, fast, ok := polar.Delays(matrix, slope)
	if !ok {
		m.Left[i] = true
	}
	m.Passed.DGD[i] = slow - fast
}
