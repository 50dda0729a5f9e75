package program

import (
	"math"

	"wedgework/optics/polar"
)

// Band is wavelengths in a row at one temperature. Stacks are traced at some of them only, the nodes; between these
// follow, by a polynomial through the nodes, the sizes of what paths bring and their optical paths, which are smooth,
// and never what they add up to, whose phases turn. Of the optical paths only what they differ by from those of the
// nominal stack is interpolated. Machine.Between leaves stacks to the tracer that are not smooth enough.
type Band struct {
	nodes   []int       // the points that are traced
	points  []int       // those between
	weights [][]float64 // by point between and node
	last    []float64   // by node: the weights of the polynomial's last Chebyshev coefficient

	// By path after the first: by point between, what the nominal optical path has beyond its own polynomial, and the
	// last coefficient of that.
	more [][]float64
	bent []float64
	wave []float64 // by point between: 2 pi over the wavelength
}

// Nodes returns the n wavelengths, FewestNodes or more, in [low, high] at which a Band of them is traced: the roots of
// a Chebyshev polynomial.
func Nodes(low, high float64, n int) []float64 {
	at := make([]float64, n)
	for j := range at {
		at[j] = (low+high)/2 - (high-low)/2*math.Cos((float64(j)+0.5)*math.Pi/float64(n))
	}
	return at
}

// Band makes a band of points that Prepare was told of: those of Nodes, and those between, at some wavelengths.
func (p *Program) Band(nodes, points []int, wavelength func(point int) float64) *Band {
	b := &Band{nodes: nodes, points: points}
	n := len(nodes)
	for j := range nodes {
		angle := (float64(j) + 0.5) * math.Pi / float64(n)
		b.last = append(b.last, 2/float64(n)*math.Cos(float64(n-1)*(math.Pi-angle)))
	}
	for _, k := range points {
		x, weights := wavelength(k), make([]float64, n)
		for j := range nodes {
			weights[j] = 1
			for i := range nodes {
				if i != j {
					xi := wavelength(nodes[i])
					weights[j] *= (x - xi) / (wavelength(nodes[j]) - xi)
				}
			}
		}
		more := make([]float64, len(p.live))
		for q := range more {
			more[q] = p.base[k].ways[q]
			for j, w := range weights {
				more[q] -= w * p.base[nodes[j]].ways[q]
			}
		}
		b.weights, b.more, b.wave = append(b.weights, weights), append(b.more, more), append(b.wave, 2*math.Pi/x)
	}
	b.bent = make([]float64, len(p.live))
	for q := range b.bent {
		for j, w := range b.last {
			b.bent[q] += w * p.base[nodes[j]].ways[q]
		}
	}
	p.widest = max(p.widest, n)
	return b
}

// smooth is what is interpolated, of both directions: what the paths bring each by itself, by launch polarization; how
// much longer the optical path of each is than that of the first; and what each two bring together, but for the phase.
type smooth struct {
	alone [2]gram // im is not used
	ways  []Lane
	both  [][2]gram
	sent  []sent  // where delays are asked for: what each path brings forward
	flat  []*Lane // all of these
}

// sent is the light that a path brings forward, but for its phase: the entries of a matrix, and the delay.
type sent struct {
	jones [2][2]Lane
	delay Lane
}

func (p *Program) smooth() *smooth {
	n := len(p.live)
	s := &smooth{ways: make([]Lane, n), both: make([][2]gram, n*(n-1)/2)}
	for d := range s.alone {
		h := &s.alone[d]
		s.flat = append(s.flat, &h.xx, &h.yy, &h.re)
	}
	for x := 1; x < n; x++ {
		s.flat = append(s.flat, &s.ways[x])
	}
	for k := range s.both {
		for d := range s.both[k] {
			h := &s.both[k][d]
			s.flat = append(s.flat, &h.xx, &h.yy, &h.re, &h.im)
		}
	}
	if p.timed {
		s.sent = make([]sent, n)
		for x := range s.sent {
			t := &s.sent[x]
			s.flat = append(s.flat, &t.jones[0][0], &t.jones[0][1], &t.jones[1][0], &t.jones[1][1], &t.delay)
		}
	}
	return s
}

// room is where bands are evaluated.
type room struct {
	nodes    []*smooth
	mixed    *smooth
	sin, cos []Lane  // by path, of the phase beyond that of the first path
	rough    [2]Lane // by direction, how far the power of a stack may be off in the band
	exp      [2]Lane // exponent of the bound on the paths dropped, at the first node and the last
}

func (p *Program) room() room {
	r := room{}
	if p.widest == 0 {
		return r
	}
	for range p.widest {
		r.nodes = append(r.nodes, p.smooth())
	}
	r.mixed, r.sin, r.cos = p.smooth(), make([]Lane, len(p.live)), make([]Lane, len(p.live))
	r.cos[0].Fill(1)
	return r
}

// FewestNodes is how many nodes a Band has at least.
const FewestNodes = 5

// mix sums the nodes up with weights.
func (r *room) mix(weights []float64) {
	w0, w1, w2, w3, w4 := weights[0], weights[1], weights[2], weights[3], weights[4]
	n := r.nodes
	for q, into := range r.mixed.flat {
		f0, f1, f2, f3, f4 := n[0].flat[q], n[1].flat[q], n[2].flat[q], n[3].flat[q], n[4].flat[q]
		for i := range Width {
			into[i] = w0*f0[i] + w1*f1[i] + w2*f2[i] + w3*f3[i] + w4*f4[i]
		}
		for j, w := range weights[FewestNodes:] {
			f := n[j+FewestNodes].flat[q]
			for i := range Width {
				into[i] += w * f[i]
			}
		}
	}
}

// Node evaluates node n of a band, as At does a point.
func (m *Machine) Node(b *Band, n int, s *Scene, l *Light, at *Pose) {
	p, into := m.program, m.band.nodes[n]
	m.trace(b.nodes[n], s, l, at)
	first := &m.paths[0].way
	for x, a := range m.paths {
		a.whole(l.Wavelength)
		for i := range Width {
			into.ways[x][i] = a.way[i] - first[i]
		}
	}
	for d, back := range [2]bool{false, true} {
		into.alone[d] = gram{}
		pair := 0
		for x, a := range m.paths {
			for _, b := range m.paths[:x] {
				m.weigh(a, b, back)
				for i := range Width {
					m.re[i] = m.weights[0][i] * a.re[i] * b.re[i]
				}
				into.both[pair][d] = gram{}
				into.both[pair][d].add(a, b, back, &m.re, &m.re)
				pair++
			}
			m.weigh(a, a, back)
			for i := range Width {
				m.re[i] = m.weights[0][i] * a.re[i] * a.re[i]
			}
			m.bounces(a, &m.re)
			into.alone[d].alone(a, back, &m.re)
		}
	}
	if p.timed {
		m.dispatch(into, at)
	}
	if len(p.dropped) > 0 && (n == 0 || n == len(b.nodes)-1) {
		m.survey(m.lost, s, l, at)
		for i := range Width {
			m.band.exp[min(n, 1)][i] = exponent(l, m.dropped[i])
		}
	}
}

// dispatch keeps what delays follow from.
func (m *Machine) dispatch(into *smooth, at *Pose) {
	for x, a := range m.paths {
		t, v := &into.sent[x], &a.inner[0][0][0]
		for r := range 2 {
			for c := range 2 {
				for i := range Width {
					t.jones[r][c][i] = v[i] * a.received[r][i] * a.launched[c][i] * a.re[i]
				}
			}
		}
		for i := range Width {
			t.delay[i] = a.arrival(at, i)
		}
	}
}

const (
	// lossy and leaky are how far the power of light forward and backward may be off between nodes: a share of what is
	// launched, and of what comes back, or of faintest where that is less.
	lossy, leaky = 1e-6, 2e-5
	faintest     = 1e-6
)

// Settle ends the nodes of a band: what follows is Between. How far a polynomial may be off is taken to be its last
// coefficient, many times what the terms left out come to where the coefficients fall as fast as they do here
// (TestBandAgainstPoints).
func (m *Machine) Settle(b *Band) {
	r := &m.band
	r.mix(b.last)
	middle := r.nodes[len(b.nodes)/2]
	for d := range 2 {
		rough, h := &r.rough[d], &r.mixed.alone[d]
		for i := range Width {
			rough[i] = math.Abs(h.xx[i]) + math.Abs(h.yy[i]) + math.Abs(h.re[i])
		}
		pair := 0
		for x := range m.paths {
			for y := range x {
				v, w, u, h := &r.mixed.ways[x], &r.mixed.ways[y], &r.mixed.both[pair][d], &middle.both[pair][d]
				for i := range Width {
					turned := b.wave[0] * (math.Abs(v[i]-b.bent[x]) + math.Abs(w[i]-b.bent[y]))
					rough[i] += math.Abs(u.xx[i]) + math.Abs(u.yy[i]) + math.Abs(u.re[i]) + math.Abs(u.im[i]) +
						turned*(math.Abs(h.xx[i])+math.Abs(h.yy[i])+math.Abs(h.re[i])+math.Abs(h.im[i]))
				}
				pair++
			}
		}
	}
	if n := float64(len(m.program.dropped)); n > 0 {
		for i := range Width { // the ends of the band lie outside the nodes, by less than a quarter of their distance
			u, v := r.exp[0][i], r.exp[1][i]
			m.reach[i] = n * math.Exp(math.Abs(u-v)/4-min(u, v))
		}
	}
}

// Between evaluates point n between the nodes of a band.
func (m *Machine) Between(b *Band, n int, s *Scene) {
	r, k := &m.band, b.wave[n]
	r.mix(b.weights[n])
	for x := 1; x < len(m.paths); x++ {
		way, more := &r.mixed.ways[x], b.more[n][x]
		for i := range Width {
			r.sin[x][i], r.cos[x][i] = math.Sincos(k * (way[i] + more))
		}
	}
	for d, into := range [2]*Powers{&m.Passed.Forward, &m.Passed.Backward} {
		h, pair := &r.mixed.alone[d], 0
		h.im = Lane{}
		for x := range m.paths {
			for y := range x {
				h.join(&r.mixed.both[pair][d], &r.sin[y], &r.cos[y], &r.sin[x], &r.cos[x])
				pair++
			}
		}
		h.extremes(&s.pass, into)
	}
	if m.program.timed {
		m.delaysBetween()
	}
	for i := range Width {
		back := m.Passed.Backward.T1[i]
		doubt := r.rough[0][i] * s.pass[i] / lossy
		if m.program.backward {
			doubt = max(doubt, r.rough[1][i]*s.pass[i]/(leaky*max(back, faintest)))
		}
		if !(doubt <= 1) {
			m.Left[i] = true
		}
		m.Doubt[i] = max(m.Doubt[i], doubt)
	}
	m.guard(s)
}

// delaysBetween is delays from what dispatch kept.
func (m *Machine) delaysBetween() {
	r := &m.band
	for i := range Width {
		var matrix, slope polar.Matrix
		first := r.mixed.sent[0].delay[i]
		for x := range r.mixed.sent {
			t := &r.mixed.sent[x]
			sin, cos, delay := r.sin[x][i], r.cos[x][i], t.delay[i]-first
			for a := range 2 {
				for c := range 2 {
					w := t.jones[a][c][i]
					matrix[a][c] += complex(w*cos, w*sin)
					slope[a][c] += complex(-delay*w*sin, delay*w*cos)
				}
			}
		}
		m.delay(i, matrix, slope)
	}
}
