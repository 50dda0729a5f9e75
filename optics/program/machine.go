package program

import (
	"math"
	"slices"
)

// Machine is room to evaluate Width stacks at a time. It belongs to one goroutine.
type Machine struct {
	// Left marks the stacks that are not what the program covers, for the tracer to evaluate: what Align and At found,
	// and what the caller did. The caller clears it.
	Left [Width]bool

	// Doubt is the most that polynomials were off in the bands that Between evaluated, as a multiple of what they may
	// be. The caller clears it.
	Doubt Lane

	Passed Passed // by the last At or Between

	program *Program
	paths   []*path
	leads   []lead
	fork    []state // of chief rays, before each crystal
	every   []way   // all paths, and those that were dropped
	lost    []way
	scouts  []scout // before each crystal and behind the last
	grams   [2]gram
	weights [mostFilms + 1]Lane
	re, im  Lane
	both    Lane
	gx, gy  []Lane // own rays of the paths at the first point, where others start
	traced  bool   // the paths were followed whole at the point that At comes to next
	known   bool   // dropped is that of the point that At comes to next
	dropped Lane   // least square of the angle to the receiver of the paths dropped
	reach   Lane   // the most amplitude that they can bring together
	band    room
}

// Machine returns room for a program.
func (p *Program) Machine() *Machine {
	m := &Machine{program: p}
	for _, kinds := range p.live {
		m.paths = append(m.paths, p.path(kinds))
	}
	m.leads, m.fork = leads(m.paths), make([]state, len(p.crystals))
	for _, kinds := range p.dropped {
		m.lost = append(m.lost, way{kinds: kinds})
	}
	m.every = slices.Clone(m.lost)
	for _, a := range m.paths {
		m.every = append(m.every, way{a.kinds, a})
	}
	sorted(m.every)
	sorted(m.lost)
	m.scouts = make([]scout, len(p.crystals)+1)
	m.gx, m.gy = make([]Lane, len(m.paths)), make([]Lane, len(m.paths))
	m.band = p.room()
	return m
}

var zero Lane

// chiefs traces the chief ray of every path: the pose straight behind it.
func (m *Machine) chiefs(s *Scene, l *Light) {
	p := m.program
	for n := range m.leads {
		d := &m.leads[n]
		a := d.path
		if d.same == 0 {
			a.start(s, &zero, &zero)
		} else {
			a.state = m.fork[d.same]
		}
		for c := d.same; c < len(a.kinds); c++ {
			if d.kept[c] {
				m.fork[c] = a.state
			}
			p.lead(a, s, l, c-1, p.crystals[c], p.behind(c), false)
		}
		a.end(s)
		a.px, a.py, a.ptx, a.pty = a.x, a.y, a.kx, a.ky
	}
}

// Align sets the receivers where they collect most power, in the scene and the light of alignment, as Stack.align does.
// The pose behind the chief rays' centre, weighted with the power of their paths, is the best one while their overlaps
// are nearly whole; where two are apart, the stack is left to the tracer.
func (m *Machine) Align(s *Scene, l *Light, at *Pose) {
	m.chiefs(s, l)
	for n, a := range m.paths {
		a.weight.Fill(m.program.weight[n])
	}
	m.centre(at)
	m.rays(at)
	for n, a := range m.paths {
		m.own(a, &m.gx[n], &m.gy[n])
		m.program.follow(a, s, l, &a.bx, &a.by, true)
		m.program.polarize(a, s, l)
	}
	m.traced, m.known = true, false
	m.centre(at)
	m.apart(l, at)
}

// Hold starts from receivers that stand somewhere, in the scene and the light of the first point.
func (m *Machine) Hold(s *Scene, l *Light, at *Pose) {
	m.survey(m.every, s, l, at)
	m.rays(at)
	m.traced, m.known = false, true
}

// Elsewhere says that the next point is not the one that Align or Hold was at.
func (m *Machine) Elsewhere() { m.traced, m.known = false, false }

// centre is the mean of the poses behind the paths, weighted with their power.
func (m *Machine) centre(at *Pose) {
	var sum Lane
	*at = Pose{}
	for n, a := range m.paths {
		if !m.program.main[n] {
			continue
		}
		for i := range Width {
			w := a.weight[i]
			sum[i] += w
			at.X[i] += w * a.px[i]
			at.Y[i] += w * a.py[i]
			at.TiltX[i] += w * a.ptx[i]
			at.TiltY[i] += w * a.pty[i]
		}
	}
	for i := range Width {
		over := 1 / sum[i]
		at.X[i] *= over
		at.Y[i] *= over
		at.TiltX[i] *= over
		at.TiltY[i] *= over
	}
}

// apart leaves stacks to the tracer of which a path that counts is too far from the pose for the centre to be the best
// one. Paths that do not count pull the pose towards theirs as little as they overlap with it: one step of the mean
// shift, so that what is left is the square of that; where they are too near for it, the stack is the tracer's too, and
// where all others together carry so much power that a receiver among them could collect more.
func (m *Machine) apart(l *Light, at *Pose) {
	var sum Lane
	aside := false
	for n, a := range m.paths {
		main := m.program.main[n]
		aside = aside || !main
		for i := range Width {
			q := m.distance(a, l, at, i)
			if main && !(q < apart/4.) || !main && !(q > beside) {
				m.Left[i] = true
			}
			if main {
				sum[i] += a.weight[i]
			}
		}
	}
	for i := range Width {
		if !(sum[i] > most*2) {
			m.Left[i] = true
		}
	}
	if !aside {
		return
	}
	from := *at
	for n, a := range m.paths {
		if m.program.main[n] {
			continue
		}
		for i := range Width {
			w := a.weight[i] / sum[i] * math.Exp(-m.distance(a, l, &from, i))
			at.X[i] += w * (a.px[i] - from.X[i])
			at.Y[i] += w * (a.py[i] - from.Y[i])
			at.TiltX[i] += w * (a.ptx[i] - from.TiltX[i])
			at.TiltY[i] += w * (a.pty[i] - from.TiltY[i])
		}
	}
}

// rays sets the own rays: midway between the axes of the modes, the one sent as its chief ray turns out and the one
// that waits.
func (m *Machine) rays(at *Pose) {
	for n, a := range m.paths {
		gx, gy := &m.gx[n], &m.gy[n]
		for i := range Width {
			gx[i], gy[i] = (at.TiltX[i]-a.ptx[i])/2, (at.TiltY[i]-a.pty[i])/2
		}
	}
}

// own starts a path along a ray. Light that meets a face squarely has no plane of incidence: it is sent off by a ten
// millionth of a radian.
func (m *Machine) own(a *path, x, y *Lane) {
	for i := range Width {
		a.bx[i], a.by[i] = x[i], y[i]
		if math.Abs(x[i])+math.Abs(y[i]) < square {
			a.bx[i] = square
		}
	}
}

const (
	square   = 1e-7
	ownRay   = 2e-5 // rad: as near to a path's own ray as the tracer comes
	retraces = 3    // at most
	// leak is the share of the amplitude of a stack's leakage that the paths dropped may come to, and faint that of
	// the light launched.
	leak, faint = 1e-4, 1e-7
)

// At evaluates a point, whose number is that of Prepare's, with the receivers at a pose: both directions.
func (m *Machine) At(point int, s *Scene, l *Light, at *Pose) {
	m.trace(point, s, l, at)
	for _, a := range m.paths {
		a.wave(m.paths[0], l.Wavelength)
	}
	m.total(s)
	if m.program.timed {
		m.delays(at)
	}
	if len(m.program.dropped) > 0 {
		if !m.known {
			m.survey(m.lost, s, l, at)
		}
		m.known = false
		for i := range Width {
			m.reach[i] = float64(len(m.program.dropped)) * bound(exponent(l, m.dropped[i]))
		}
	}
	m.guard(s)
}

// trace follows every path to the receiver at a point, along its own ray.
func (m *Machine) trace(point int, s *Scene, l *Light, at *Pose) {
	p := m.program
	b := &p.base[point]
	for n, a := range m.paths {
		if !m.traced {
			dx, dy := b.x[n], b.y[n]
			for i := range Width {
				a.bx[i], a.by[i] = m.gx[n][i]+dx, m.gy[n][i]+dy
			}
			m.own(a, &a.bx, &a.by)
			p.follow(a, s, l, &a.bx, &a.by, true)
		}
		again := false
		for range retraces {
			if !a.nearer(at) {
				break
			}
			again = true
			p.follow(a, s, l, &a.bx, &a.by, true)
		}
		if again || !m.traced {
			p.polarize(a, s, l)
		}
		p.meet(a, s, l, at, b.origin)
	}
	m.traced = false
}

// nearer moves the base rays that are not near enough to their paths' own, and reports whether there were any.
func (a *path) nearer(at *Pose) bool {
	moved := false
	for i := range Width {
		x, y := (at.TiltX[i]-a.kx[i]-a.bx[i])/2, (at.TiltY[i]-a.ky[i]-a.by[i])/2
		if x*x+y*y > ownRay*ownRay {
			a.bx[i] += x
			a.by[i] += y
			moved = true
		}
	}
	return moved
}

// guard leaves stacks to the tracer that have no finite result, or in which the paths dropped could matter.
func (m *Machine) guard(s *Scene) {
	if len(m.program.dropped) > 0 {
		for i := range Width {
			b, least := m.reach[i], m.Passed.Backward.T1[i]
			if b > faint || m.program.backward && b*b*s.pass[i] > leak*leak*least {
				m.Left[i] = true
			}
		}
	}
	for i := range Width {
		if all := m.Passed.Forward.T1[i] + m.Passed.Backward.T1[i]; !(all-all == 0) {
			m.Left[i] = true
		}
	}
}
