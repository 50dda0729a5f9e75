package fitting

import (
	"cmp"
	"context"
	"math"
	"slices"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/reports/fit"
	"wedgework/reports/verify/model"
)

// The scan for wells of an angle: 3 deg to either side is more than a part that passes for good can be
// off, and half a degree is narrower than any well: its width
// is what the null moves over a sweep, some degrees.
const (
	scanReach = 3 * float64(quantity.Degree)
	scanStep  = 0.5 * float64(quantity.Degree)
	// scanLeak is the other leakage fraction from which fits start, 30 dB: a leakage may hide a null.
	scanLeak = 1e-3
	// wells is how many of the deepest are followed to the bottom.
	wells = 3
	// coarse is how many readings of a run the search uses; the best well is then fitted with all.
	coarse = 24
	// roughly is the relative tolerance that tells wells apart, precisely the one to which a fit is
	// finished.
	roughly   = 1e-5
	Precisely = 1e-8
	// Patience is how many Jacobians a fit may take; from the bottom of a thinned well it needs a few.
	Patience = 60
)

// Few picks at most coarse of a list, evenly.
func Few(all []int) []int {
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

// starts scans each angle alone, with every leakage fraction at its nominal value and at scanLeak, and
// returns the deepest minima. The leakage is a square of angles: without the scan a fit would stick on
// whichever side of the null it began.
func (f *Fitter) starts(ctx context.Context, vs []*model.Variable) ([]well, error) {
	points, lines := scan(vs)
	seen := make([]well, len(points))
	err := parallel.Each(len(points), func(i int) error {
		seen[i] = well{points[i], math.Inf(1)}
		m, err := model.Adjust(f.Model, vs, points[i])
		if err != nil {
			return ctx.Err() // out of the model's range: no well there
		}
		seen[i].chi, err = f.ChiSquared(ctx, m)
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

// scan lists the points to look at, line by line: each from an index to the one after its last. A line is a base with
// one angle varied, or the base alone where there is no angle; all are looked at side by side.
func scan(vs []*model.Variable) (points [][]float64, lines [][2]int) {
	nominal := make([]float64, len(vs))
	leak := false
	for j, v := range vs {
		nominal[j] = v.At
		leak = leak || v.Leak
	}
	bases := [][]float64{nominal}
	if leak {
		other := slices.Clone(nominal)
		for j, v := range vs {
			if v.Leak {
				other[j] = scanLeak
			}
		}
		bases = append(bases, other)
	}
	n := int(math.Round(scanReach / scanStep))
	for _, base := range bases {
		begin := len(points)
		for j, v := range vs {
			if !v.Angle {
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
		if len(points) == begin {
			points = append(points, base)
			lines = append(lines, [2]int{begin, begin + 1})
		}
	}
	return points, lines
}

// Search fits the parameters: the wells on the thinned readings, then the deepest on all.
func Search(ctx context.Context, thin, full *Fitter, vs []*model.Variable) (*fit.Solution, error) {
	finish := Precisely
	if thin == full { // it is a first look, and the fit to all readings starts from what it finds
		finish = roughly
	}
	coarse := *thin
	coarse.Model = model.Rough(thin.Model)
	thin = &coarse
	starts, err := thin.starts(ctx, vs)
	if err != nil {
		return nil, err
	}
	found := make([]*fit.Solution, len(starts))
	err = parallel.Each(len(starts), func(i int) error {
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
	return full.Solve(ctx, vs, start, finish)
}
