package model

import (
	"context"
	"math"
	"slices"
	"sync"

	"wedgework/optics/parallel"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/verify/readings"
)

// ghosts holds what the double reflections of a stack, the anchor, add in power over the sweeps of a measurement. Nine
// tenths of the work of a point are its ghosts, and next to nothing of their power depends on what a diagnosis
// varies. So models near the anchor evaluate their straight paths and add these. Where that would be wrong by
// more than an interpolation is, hold says so, and the model evaluates its own.
type ghosts struct {
	sweeps []ghostSweep
	probe  probe
	// Of each direction, forward first: whether the sweeps without ghosts are carried by the coarsest grid of smooth,
	// to plainError of the least transmission. Ghosts are smoother than that: see ghostNodes and ownNodes.
	plain [2]bool
}

// ghostSweep is the polynomial through the Chebyshev points of one sweep.
type ghostSweep struct {
	t      quantity.Temperature
	lo, hi quantity.Length
	added  [2][]polar.Gram // forward, backward
}

// ghostNodes is how many wavelengths carry the ghosts of a sweep: their power follows the film's rotation, a
// few degrees over a sweep, and nothing faster.
const ghostNodes = 2 * smoothLeastIntervals

// ownNodes is how many carry those of a model that has its own: half as many are right to what hold lets pass.
const ownNodes = smoothLeastIntervals

// plainError is far below what tells wells apart, shows in a picture, or changes a weight: the coarsest grid is for
// nothing else, and a well is then fitted anew.
const plainError = 1e-4

// Errors of chamber temperature and of wavelength scale within which a sweep's stored double reflections remain
// valid.
const (
	ghostKelvin = quantity.Temperature(2)
	ghostReach  = 1 * quantity.Nanometre
)

// Anchored returns the model with its ghosts evaluated along the sweeps once, for it and for its adjusted copies.
func (m stacked) Anchored(ctx context.Context, sweeps []readings.Sweep) (Model, error) {
	g := &ghosts{sweeps: make([]ghostSweep, len(sweeps))}
	bare := make([][2][]polar.Gram, len(sweeps))
	err := parallel.Each(len(sweeps), func(i int) error {
		w := ghostSweep{t: sweeps[i].Temperature, lo: sweeps[i].Low, hi: sweeps[i].High}
		for k, d := range []Direction{Forward, Backward} {
			var err error
			if w.added[k], bare[i][k], err = bounced(ctx, m.Stack, d, &w, ghostNodes); err != nil {
				return err
			}
		}
		g.sweeps[i] = w
		return nil
	})
	if err != nil {
		return nil, err
	}
	middle := sweeps[len(sweeps)/2]
	g.probe = probe{l: (middle.Low + middle.High) / 2, t: middle.Temperature, least: math.Inf(1)}
	if g.probe.added, err = g.probe.of(m); err != nil {
		return nil, err
	}
	for k, d := range []Direction{Forward, Backward} {
		off, least := 0.0, math.Inf(1)
		for _, both := range bare {
			off = max(off, offCoarse(both[k]))
			for _, h := range both[k] {
				least = min(least, h.XX+h.YY)
			}
		}
		g.plain[k] = off <= plainError*least
		if d == Backward { // near the null the leakage is least, and there the ghosts must be right
			g.probe.least = least
		}
	}
	m.ghosts, m.apart = g, nil
	return m, nil
}

// offCoarse returns how far values at Chebyshev points of twice the coarsest grid lie off the polynomial through that
// grid.
func offCoarse(values []polar.Gram) float64 {
	var coarse []polar.Gram
	for k := 0; k < len(values); k += 2 {
		coarse = append(coarse, values[k])
	}
	off, at := 0.0, Nodes(len(values)-1)
	for k := 1; k < len(values); k += 2 {
		d := sum(interpolate(coarse, Nodes(len(coarse)-1), at[k]), -1, values[k])
		off = max(off, math.Abs(d.XX)+math.Abs(d.YY)+math.Abs(real(d.XY))+math.Abs(imag(d.XY)))
	}
	return off
}

// place of a direction in a pair of the two.
func place(d Direction) int {
	if d == Backward {
		return 1
	}
	return 0
}

// along returns the ghosts over some wavelengths, nil where they are not known.
func (g *ghosts) along(d Direction, ls []quantity.Length, t quantity.Temperature) *ghostsOver {
	for i := range g.sweeps {
		w := &g.sweeps[i]
		if math.Abs(float64(w.t-t)) > float64(ghostKelvin) {
			continue
		}
		for _, l := range ls {
			if l < w.lo-ghostReach || l > w.hi+ghostReach {
				return nil
			}
		}
		return &ghostsOver{w, w.added[place(d)]}
	}
	return nil
}

// span reports whether wavelengths and a temperature lie among the sweeps, if not on one. What carries all of these
// carries what is between.
func (g *ghosts) span(ls []quantity.Length, t quantity.Temperature) bool {
	first, last := g.sweeps[0], g.sweeps[0]
	lo, hi := first.lo, first.hi
	for _, w := range g.sweeps {
		if w.t < first.t {
			first = w
		}
		if w.t > last.t {
			last = w
		}
		lo, hi = max(lo, w.lo), min(hi, w.hi)
	}
	return first.t <= t && t <= last.t && lo <= slices.Min(ls) && slices.Max(ls) <= hi
}

// ownGhosts are those of a model whose ghosts are not the anchor's, sweep by sweep, evaluated when they are first asked
// for: as smooth as the anchor's, they need not be traced at every wavelength that the leakage is. Two stages have
// hundreds of them, and each depends on the leakage of the other stage.
type ownGhosts struct {
	*stack.Stack
	sync.Mutex
	sweeps []ownSweep
}

type ownSweep struct {
	of    *ghostSweep
	d     Direction
	added []polar.Gram
}

// along is as that of ghosts, over one of its sweeps; nil for few wavelengths, which are as well evaluated themselves.
func (g *ownGhosts) along(ctx context.Context, d Direction, ls []quantity.Length, w *ghostSweep) (*ghostsOver, error) {
	if len(ls) <= ownNodes+1 {
		return nil, nil
	}
	g.Lock()
	defer g.Unlock()
	for _, own := range g.sweeps {
		if own.of == w && own.d == d {
			return &ghostsOver{w, own.added}, nil
		}
	}
	added, _, err := bounced(ctx, g.Stack, d, w, ownNodes)
	if err != nil {
		return nil, err
	}
	g.sweeps = append(g.sweeps, ownSweep{w, d, added})
	return &ghostsOver{w, added}, nil
}

// bounced evaluates what its ghosts add to a stack at the nodes of a sweep, and what is there without them.
func bounced(ctx context.Context, s *stack.Stack, d Direction, w *ghostSweep,
	intervals int) (added, without []polar.Gram, err error) {
	ls := chebyshev(w.lo, w.hi, intervals, 0, 1)
	if w.hi == w.lo {
		ls = ls[:1]
	}
	r, err := s.Over(ctx, d, ls, []quantity.Temperature{w.t})
	if err != nil {
		return nil, nil, err
	}
	for _, p := range r.Points[0] {
		added, without = append(added, p.Bounced), append(without, sum(p.H, -1, p.Bounced))
	}
	return added, without, nil
}

type ghostsOver struct {
	*ghostSweep
	added []polar.Gram
}

func (o *ghostsOver) at(l quantity.Length) polar.Gram {
	if len(o.added) == 1 {
		return o.added[0]
	}
	return interpolate(o.added, Nodes(len(o.added)-1), Position(o.lo, o.hi, l))
}

// probe is the point at which a model shows whether its ghosts are the anchor's.
type probe struct {
	l     quantity.Length
	t     quantity.Temperature
	added polar.Gram
	least float64 // leakage of the anchor where it is least
}

func (p *probe) of(m stacked) (polar.Gram, error) {
	at, err := m.At(Backward, p.l, p.t)
	return at.Bounced, err
}

// hold reports whether the ghosts are those of the model too.
func (g *ghosts) hold(m stacked) bool {
	own, err := g.probe.of(m)
	if err != nil {
		return false // Over reports it
	}
	d := sum(own, -1, g.probe.added)
	return math.Abs(d.XX)+math.Abs(d.YY) <= smoothError*g.probe.least
}

// sum returns a + f b.
func sum(a polar.Gram, f float64, b polar.Gram) polar.Gram {
	return polar.Gram{XX: a.XX + f*b.XX, YY: a.YY + f*b.YY, XY: a.XY + complex(f, 0)*b.XY}
}
