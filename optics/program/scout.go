package program

import (
	"math"
	"slices"
)

// scout is the chief ray of a path on its way, by its direction only.
type scout struct {
	state
	stale bool // kz is that of an earlier medium: flat faces leave it out
}

// way is a path to follow by its direction, and what is known of it; nil for one that was dropped.
type way struct {
	kinds []bool
	path  *path
}

// sorted orders paths so that those which begin alike follow each other.
func sorted(ways []way) {
	slices.SortFunc(ways, func(a, b way) int {
		c := shared(a.kinds, b.kinds)
		switch {
		case c == len(a.kinds):
			return 0
		case a.kinds[c]:
			return 1
		}
		return -1
	})
}

// shared is how many crystals from the first on two paths cross alike.
func shared(a, b []bool) int {
	n := 0
	for n < len(a) && a[n] == b[n] {
		n++
	}
	return n
}

// lead is a path whose chief ray is traced, from where it leaves the way of the one before.
type lead struct {
	path *path
	same int    // crystals that it shares with the one before
	kept []bool // by crystal: paths that follow share the way up to it
}

// leads puts paths in an order in which those that begin alike follow each other.
func leads(paths []*path) []lead {
	var ways []way
	for _, a := range paths {
		ways = append(ways, way{a.kinds, a})
	}
	sorted(ways)
	all := make([]lead, len(ways))
	for n, w := range ways {
		d := lead{path: w.path, kept: make([]bool, len(w.kinds))}
		if n > 0 {
			d.same = shared(ways[n-1].kinds, w.kinds)
		}
		for _, later := range ways[n+1:] {
			if same := shared(w.kinds, later.kinds); same > d.same {
				d.kept[same] = true
			}
		}
		all[n] = d
	}
	return all
}

// behind is the face at which the way behind a crystal ends: that of the next crystal, or none.
func (p *Program) behind(crystal int) int {
	if crystal+1 < len(p.crystals) {
		return p.crystals[crystal+1]
	}
	return len(p.parts)
}

// survey follows the chief rays of paths by their direction, and finds the least angle to the receiver at which one that
// was dropped arrives. Only faces that are not flat change the transverse wave vector. A path that is totally reflected
// does not arrive. Paths that begin alike, which follow each other, share that way.
func (m *Machine) survey(ways []way, s *Scene, l *Light, at *Pose) {
	p := m.program
	first := &m.scouts[0]
	first.kx, first.ky, first.stale = Lane{}, Lane{}, false
	first.kz.Fill(1)
	m.dropped.Fill(math.Inf(1))
	var last []bool
	for _, w := range ways {
		kinds, from := w.kinds, 0
		if last != nil {
			from = shared(last, kinds)
		}
		for c := from; c < len(kinds); c++ {
			a := &m.scouts[c+1]
			before := &m.scouts[c]
			if p.deflects(c, kinds[c]) { // once for the two that go on from here
				before.fresh(p, l, p.crystals[c])
			}
			a.leave(before)
			for j := p.crystals[c]; j < p.behind(c); j++ {
				a.pass(p, s, l, j, c, kinds[c])
			}
		}
		last = kinds
		a := &m.scouts[len(kinds)]
		if w.path != nil {
			w.path.ptx, w.path.pty = a.kx, a.ky
			continue
		}
		for i := range Width {
			x, y := a.kx[i]-at.TiltX[i], a.ky[i]-at.TiltY[i]
			if d := x*x + y*y; d < m.dropped[i] {
				m.dropped[i] = d
			}
		}
	}
}

// leave starts from where another is.
func (a *scout) leave(b *scout) { a.kx, a.ky, a.kz, a.stale = b.kx, b.ky, b.kz, b.stale }

// pass crosses face j, behind which crystal c lies or the way from there on.
func (a *scout) pass(p *Program, s *Scene, l *Light, j, c int, extraordinary bool) {
	part, f, m := p.parts[j], &s.Faces[j], &l.Media[j]
	switch {
	case part.Crystal && !p.deflects(c, extraordinary) || !part.Crystal && part.Flat:
		a.stale = true
		return
	case part.Crystal && extraordinary:
		a.fresh(p, l, j)
		a.split(f, &s.Axes[c], m.O, m.E)
	case part.Crystal:
		a.fresh(p, l, j)
		a.bend(f, m.O)
	default:
		a.fresh(p, l, j)
		a.bend(f, m.Index)
	}
}

// deflects reports whether the direction of light in a crystal matters for where it leaves it.
func (p *Program) deflects(crystal int, extraordinary bool) bool {
	j := p.crystals[crystal]
	return !p.parts[j].Flat || extraordinary && !p.parts[j+1].Flat
}

// fresh works out N.z in the medium before a face, where flat faces have left it out.
func (a *scout) fresh(p *Program, l *Light, j int) {
	switch {
	case !a.stale:
	case j == 0:
		a.enter(1)
	case p.parts[j-1].Crystal:
		a.enter(l.Media[j-1].O)
	default:
		a.enter(l.Media[j-1].Index)
	}
	a.stale = false
}
