package verify

import (
	"context"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/fit"
)

// The scan for wells of an angle: 3 deg to either side is more than a part that passes for good can be
// off, and a quarter of a degree is narrower than any well.
const (
	scanReach = 3 * float64(quantity.Degree)
	scanStep  = 0.25 * float64(quantity.Degree)
	// scanLeak is the other leak fraction from which fits start, 30 dB: a leak may hide a null.
	scanLeak = 1e-3
	// wells is how many of the deepest are followed to the bottom.
	wells = 3
	// coarse is how many readings of a run the search uses; the best well is then fitted with all.
	coarse = 24
	// roughly is the relative tolerance that tells wells apart, precisely the one to which a fit is
	// finished.
	roughly   = 1e-6
	precisely = 1e-10
	// patience is how many Jacobians a fit may take; from the bottom of a thinned well it needs a few.
	patience = 60
)

// thin picks at most coarse observations of each run, evenly.
func (x *examiner) thin() []int {
	var picked []int
	for run := range x.d.runs {
		all := slices.DeleteFunc(x.d.sorted(run), func(i int) bool { _, out := x.outlying[i]; return out })
		picked = append(picked, few(all)...)
	}
	slices.Sort(picked)
	return picked
}

// few picks at most coarse of a list, evenly.
func few(all []int) []int {
	n := min(len(all), coarse)
	var picked []int
	for k := range n {
		picked = append(picked, all[k*(len(all)-1)/max(n-1, 1)])
	}
	return picked
}

// well is a start with its misfit on the thinned readings.
type well struct {
	x   []float64
	chi float64
}

// starts scans each angle alone, with every leak fraction at its nominal value and at scanLeak, and
// returns the deepest minima. The leak is a square of angles: without the scan a fit would stick on
// whichever side of the null it began.
func (f *fitter) starts(ctx context.Context, vs []*vary) ([]well, error) {
	nominal := make([]float64, len(vs))
	leak := false
	for j, v := range vs {
		nominal[j] = v.at
		leak = leak || v.leak
	}
	bases := [][]float64{nominal}
	if leak {
		other := slices.Clone(nominal)
		for j, v := range vs {
			if v.leak {
				other[j] = scanLeak
			}
		}
		bases = append(bases, other)
	}
	var all []well
	try := func(x []float64) (well, error) {
		m, err := adjusted(f.model, vs, x)
		if err != nil {
			// Out of the model's range: no well there.
			return well{x, math.Inf(1)}, ctx.Err()
		}
		chi, err := f.chiSquared(ctx, m)
		return well{slices.Clone(x), chi}, err
	}
	for _, base := range bases {
		w, err := try(base)
		if err != nil {
			return nil, err
		}
		all = append(all, w)
		for j, v := range vs {
			if !v.angle {
				continue
			}
			n := int(math.Round(scanReach / scanStep))
			line := make([]well, 0, 2*n+1)
			for k := -n; k <= n; k++ {
				x := slices.Clone(base)
				x[j] += float64(k) * scanStep
				if w, err = try(x); err != nil {
					return nil, err
				}
				line = append(line, w)
			}
			for k, w := range line {
				if (k == 0 || w.chi <= line[k-1].chi) && (k == len(line)-1 || w.chi <= line[k+1].chi) {
					all = append(all, w)
				}
			}
		}
	}
	slices.SortStableFunc(all, func(a, b well) int {
		switch {
		case a.chi < b.chi:
			return -1
		case a.chi > b.chi:
			return 1
		}
		return 0
	})
	return all[:min(len(all), wells)], nil
}

// search fits the parameters: the wells on the thinned readings, then the deepest on all.
func search(ctx context.Context, thin, full *fitter, vs []*vary) (*fit.Solution, error) {
	starts, err := thin.starts(ctx, vs)
	if err != nil {
		return nil, err
	}
	var best *fit.Solution
	for _, w := range starts {
		s, err := thin.solve(ctx, vs, w.x, roughly)
		if cerr := ctx.Err(); cerr != nil {
			return nil, cerr
		}
		if err != nil {
			continue // a well at the edge of the model's range; the others stand
		}
		if best == nil || s.ChiSquared < best.ChiSquared {
			best = s
		}
	}
	start := starts[0].x
	if best != nil {
		start = best.Parameters
	}
	return full.solve(ctx, vs, start, precisely)
}
