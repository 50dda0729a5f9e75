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

// sorted orders paths so that those which begin alike follow each other.
func sorted(paths [][]bool) {
	slices.SortFunc(paths, func(a, b []bool) int {
		for c := range a {
			switch {
			case a[c] == b[c]:
			case a[c]:
				return 1
			default:
				return -1
			}
		}
		return 0
	})
}

// nearest finds the least angle to the receiver at which a path that was dropped arrives, along its chief ray. Only
// faces that are not flat change the transverse wave vector. A path that is totally reflected does not arrive. Paths
// that begin alike share that way.
func (m *Machine) nearest(s *Scene, l *Light, at *Pose) {
	p := m.program
	first := &m.scouts[0]
	first.kx, first.ky, first.stale = Lane{}, Lane{}, false
	first.kz.Fill(1)
	m.dropped.Fill(math.Inf(1))
	var before []bool
	for _, kinds := range p.dropped {
		from := 0
		for from < len(before) && kinds[from] == before[from] {
			from++
		}
		for c := from; c < len(kinds); c++ {
			a := &m.scouts[c+1]
			a.leave(&m.scouts[c])
			end := len(p.parts)
			if c+1 < len(p.crystals) {
				end = p.crystals[c+1]
			}
			for j := p.crystals[c]; j < end; j++ {
				a.pass(p, s, l, j, c, kinds[c])
			}
		}
		before = kinds
		a := &m.scouts[len(kinds)]
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
	if part.Crystal && extraordinary {
		if part.Flat && p.parts[j+1].Flat {
			a.stale = true
			return
		}
		a.fresh(p, l, j)
		a.split(f, &s.Axes[c], m.O, m.E)
		a.stale = false
		return
	}
	if part.Flat {
		a.stale = true
		return
	}
	a.fresh(p, l, j)
	n := m.Index
	if part.Crystal {
		n = m.O
	}
	a.bend(f, n)
	a.stale = false
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
}
