package program

import (
	"fmt"
	"math"
	"slices"
)

// Part is a face of the nominal stack and the medium behind it, which is air behind the last.
type Part struct {
	Flat     bool // its normal is z in every stack
	Reflects bool // in some stack it sends light back that counts
	Crystal  bool // what is behind it
	Turns    bool // what is behind it is a film
}

// bounds of what is compiled.
const (
	mostCrystals = 4
	mostFilms    = 2
)

// Program is the sum over paths of stacks that are alike. It is immutable and safe for concurrent use.
type Program struct {
	parts    []Part
	crystals []int // the parts behind whose faces they lie
	films    []int
	hops     []hop // between each two crystals
	runs     []run
	pairs    []pair
	live     [][]bool // of each path, by crystal: the extraordinary ray
	dropped  [][]bool
	main     []bool // of the live paths: those that alignment counts
	filmed   bool   // in some stack a film sends light out turned a further 90 deg
	timed    bool   // delays are asked for
	backward bool   // the light backward is
	base     []base // by point
	widest   int    // most nodes of a band; 0 for none
	weight   []float64
}

// hop is the way from one crystal to the next.
type hop struct {
	film    int   // that is passed, -1 for none
	changes []int // parts between whose face and the next the plane of incidence changes
}

// run is flat faces in a row with isotropic media between them.
type run struct{ first, last int }

// pair is two faces of a run that bounce light, and what lies between them.
type pair struct {
	run, from, to int
	film          int // -1 for none
}

// New lays a program out for stacks of these parts; its error says why there is none. parallel reports whether the
// stacks have double bounces.
func New(parts []Part, ghosts bool) (*Program, error) {
	p := &Program{parts: slices.Clone(parts)}
	for j, part := range parts {
		switch {
		case part.Crystal:
			p.crystals = append(p.crystals, j)
		case part.Turns:
			p.films = append(p.films, j)
		}
	}
	switch n := len(p.crystals); {
	case n == 0:
		return nil, fmt.Errorf("it has no crystal")
	case n > mostCrystals || len(p.films) > mostFilms:
		return nil, fmt.Errorf("it has %d crystals and %d films", n, len(p.films))
	case p.crystals[0] != 0 || p.crystals[n-1] != len(parts)-2:
		return nil, fmt.Errorf("its first and its last part are not both crystals")
	}
	for c := range len(p.crystals) - 1 {
		h := hop{film: -1}
		for j := p.crystals[c] + 1; j < p.crystals[c+1]; j++ {
			if !(parts[j].Flat && parts[j+1].Flat) {
				h.changes = append(h.changes, j)
			}
			if f := slices.Index(p.films, j); f >= 0 {
				if h.film >= 0 {
					return nil, fmt.Errorf("two of its films lie between the same crystals")
				}
				h.film = f
			}
		}
		p.hops = append(p.hops, h)
	}
	if ghosts {
		if err := p.bounces(); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// bounces lists the runs of flat faces and the pairs in them that reflect.
func (p *Program) bounces() error {
	for i := 0; i < len(p.parts); i++ {
		if !p.parts[i].Flat {
			continue
		}
		last := i
		for last+1 < len(p.parts) && p.parts[last+1].Flat {
			last++
		}
		found := false
		for a := i; a < last; a++ {
			for b := a + 1; b <= last; b++ {
				if !p.parts[a].Reflects || !p.parts[b].Reflects {
					continue
				}
				q := pair{run: len(p.runs), from: a, to: b, film: -1}
				for j := a; j < b; j++ {
					switch {
					case p.parts[j].Crystal:
						return fmt.Errorf("light bounces to and fro in one of its crystals")
					case p.parts[j].Turns:
						q.film = slices.Index(p.films, j)
					}
				}
				p.pairs, found = append(p.pairs, q), true
			}
		}
		if found {
			p.runs = append(p.runs, run{i, last})
		}
		i = last
	}
	return nil
}

// Pairs returns how many pairs of faces bounce light.
func (p *Program) Pairs() int { return len(p.pairs) }

// Paths returns how many paths are added up, of how many there are.
func (p *Program) Paths() (live, all int) { return len(p.live), len(p.live) + len(p.dropped) }

// all lists every path.
func (p *Program) all() [][]bool {
	var paths [][]bool
	n := len(p.crystals)
	for b := range 1 << n {
		path := make([]bool, n)
		for c := range path {
			path[c] = b>>c&1 == 1
		}
		paths = append(paths, path)
	}
	return paths
}

// Settle works out what the collimators and the reflectances of a scene come to.
func (p *Program) Settle(s *Scene) {
	s.pass = s.Collimators
	for j := range s.Reflect {
		for i := range Width {
			s.pass[i] *= 1 - s.Reflect[j][i]
		}
	}
	for n, q := range p.pairs {
		b := &s.bounce[n]
		for i := range Width {
			b[i] = s.Reflect[q.from][i] * s.Reflect[q.to][i]
		}
		for j := q.from + 1; j < q.to; j++ {
			for i := range Width {
				t := 1 - s.Reflect[j][i]
				b[i] *= t * t
			}
		}
	}
}

// Scene returns room for stacks laid out at one temperature.
func (p *Program) Scene() *Scene {
	return &Scene{Faces: make([]Face, len(p.parts)), Axes: make([]Axis, len(p.crystals)),
		Reflect: make([]Lane, len(p.parts)), bounce: make([]Lane, len(p.pairs))}
}

// Light returns room for them at one wavelength.
func (p *Program) Light() *Light {
	return &Light{Media: make([]Medium, len(p.parts)), Films: make([]Film, len(p.films))}
}

// base is what is known of the paths at one point from the nominal stack.
type base struct {
	x, y   []float64 // from its own ray at the first point to that at this one
	origin float64   // optical path that is taken off every one, m
	ways   []float64 // optical paths beyond that of the first path, with all of the phase, m
}

const (
	// reach is the amplitude below which a path of the nominal stack is dropped, and bound instead.
	reach = 1e-9
	// apart is Q, the negative logarithm of the overlap of two paths in power, below which the mean of their poses is
	// the best pose to 4e-9 dB (12,400 units; alignment by the mean shift).
	apart = 1
	// least is the exponent of a bound from which on it is taken to be no less: 1e-26 of the amplitude.
	least = 60
	// beside is Q from the pose above which one step of the mean shift is enough.
	beside = 6
	// most is the share of the power launched, of both polarizations, that the paths which count carry at least.
	most = 0.6
)

// bound is the greatest amplitude that a path can bring which arrives at an angle to the receiver's axis whose square
// is given: in the plane wave spectrum the two modes lie that far apart, and the rest are phases.
func bound(exponent float64) float64 {
	if exponent >= least {
		return leastBound // what most units come to
	}
	return math.Exp(-exponent)
}

var leastBound = math.Exp(-least)

// exponent is that of the bound; beyond least it makes no difference.
func exponent(l *Light, angle2 float64) float64 {
	w := 2 * math.Pi / l.Wavelength * l.Waist
	return w * w * angle2 / 8
}
