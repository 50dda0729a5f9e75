package verify

import (
	"cmp"
	"context"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/fit"
)

// The scan for wells of an angle: 3 deg to either side is more than a part that passes for good can be
// off, and half a degree is narrower than any well: its width
// is what the null moves over a sweep, some degrees.
const (
	scanReach = 3 * float64(quantity.Degree)
	scanStep  = 0.5 * float64(quantity.Degree)
	// scanLeak is the other leak fraction from which fits start, 30 dB: a leak may hide a null.
	scanLeak = 1e-3
	// wells is how many of the deepest are followed to the bottom.
	wells = 3
	// coarse is how many readings of a run the search uses; the best well is then fitted with all.
	coarse = 24
	// roughly is the relative tolerance that tells wells apart, precisely the one to which a fit is
	// finished.
	roughly   = 1e-5
	precisely = 1e-8
	// patience is how many Jacobians a fit may take; from the bottom of a thinned well it needs a few.
	patience = 60
)

// thin picks at most coarse observations of each run, evenly.
func (x *inquiry) thin() []int {
	var picked []int
	for run := range x.d.runs {
		all := slices.DeleteFunc(x.d.sorted(run), x.outlying.has)
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
	// Every line is a base with one angle varied; all are looked at side by side.
	n := int(math.Round(scanReach / scanStep))
	var points [][]float64
	var lines [][2]int // from and to, of points
	for _, base := range bases {
		begin := len(points)
		for j, v := range vs {
			if !v.angle {
				continue
			}
			begin := len(points)
			for k := -n; k <= n; k++ {
				x := slices.Clone(base)
				x[j] += float64(k) * scanStep
				points = append(points, x)
			}
			lines = append(lines, [2]int{begin, len(points)})
		}
		if len(points) == begin { // no angle whose line it lies on
			points = append(points, base)
			lines = append(lines, [2]int{begin, begin + 1})
		}
	}
	seen := make([]well, len(points))
	err := each(len(points), func(i int) error {
		seen[i] = well{points[i], math.Inf(1)}
		m, err := adjusted(f.model, vs, points[i])
		if err != nil {
			return ctx.Err() // out of the model's range: no well there
		}
		seen[i].chi, err = f.chiSquared(ctx, m)
		return err
	})
	if err != nil {
		return nil, err
	}
	var all []well
	for _, at := range lines {
		line := seen[at[0]:at[1]]
		for k, w := range line {
			if (k == 0 || w.chi <= line[k-1].chi) && (k == len(line)-1 || w.chi <= line[k+1].chi) {
				all = append(all, w)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b well) int { return cmp.Compare(a.chi, b.chi) })
	return all[:min(len(all), wells)], nil
}

// search fits the parameters: the wells on the thinned readings, then the deepest on all.
func search(ctx context.Context, thin, full *fitter, vs []*vary) (*fit.Solution, error) {
	finish := precisely
	if thin == full { // it is a first look, and the fit to all readings starts from what it finds
		finish = roughly
	}
	coarse := *thin
	coarse.model = rough(thin.model)
	thin = &coarse
	starts, err := thin.starts(ctx, vs)
	if err != nil {
		return nil, err
	}
	found := make([]*fit.Solution, len(starts))
	err = each(len(starts), func(i int) error {
		// A well at the edge of the model's range has no bottom; the others stand.
		found[i], _ = thin.bottom(ctx, vs, starts[i].x)
		return ctx.Err()
	})
	if err != nil {
		return nil, err
	}
	var best *fit.Solution
	for _, s := range found {
		if s != nil && (best == nil || s.ChiSquared < best.ChiSquared) {
			best = s
		}
	}
	start := starts[0].x
	if best != nil {
		start = best.Parameters
	}
	return full.solve(ctx, vs, start, finish)
}
