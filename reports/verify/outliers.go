package verify

import (
	"context"
	"math"
	"slices"

	"wedgework/reports/uncertainty"
)

const (
	// mistaken is the chance that any reading of a sound measurement is called an outlier (a choice).
	mistaken = 1e-3
	// mostOutlying is the share of the readings that may be outliers: of more than that it is the model that is wrong.
	mostOutlying = 0.1
	// rounds bounds how often outliers are looked for anew in a fit without them.
	rounds = 4
)

// wild finds the readings that part with their own neighbours, before any model is asked: one of them would draw a
// fit of squares after it. A reading is held against the median of three straight lines, each through a
// neighbour on either side, so that one wild neighbour leaves two; how far those lines differ says how far the
// curve bends.
func (x *inquiry) wild() []int {
	const (
		least = 1.0 // dB off, at the least
		times = 12  // standard uncertainties off, at the least
	)
	var found []int
	for run := range x.d.runs {
		all := x.d.sorted(run)
		for k := 3; k < len(all)-3; k++ {
			if slices.ContainsFunc(all[k-3:k+4], func(i int) bool { return x.d.obs[i].bound }) {
				continue // a bound lies on no line
			}
			o := x.d.obs[all[k]]
			var lines [3]float64
			for j := range lines {
				a, b := x.d.obs[all[k-j-1]], x.d.obs[all[k+j+1]]
				at := 0.5
				if b.l > a.l {
					at = float64((o.l - a.l) / (b.l - a.l))
				}
				lines[j] = a.read + at*(b.read-a.read)
			}
			slices.Sort(lines[:])
			bend := min(lines[1]-lines[0], lines[2]-lines[1])
			if math.Abs(o.read-lines[1]) > least+2*bend+times*o.levelNoise(x.Budget) {
				found = append(found, all[k])
			}
		}
	}
	return found
}

// judgeOutliers returns the readings that lie too far off an explanation, those that were left out of its fit
// included. The scale is the robust one of the readings that were fitted: where a model does not fit, its misfit
// makes no outliers.
func (x *inquiry) judgeOutliers(ctx context.Context, e *hypothesis) (outlying, error) {
	off := outlying{}
	a, err := e.alone(ctx)
	if err != nil {
		return nil, err
	}
	var sizes []float64
	for k, i := range e.f.indices[:e.f.free] {
		off[i] = a.left[k] / a.standard[k]
		sizes = append(sizes, math.Abs(off[i]))
	}
	n := len(sizes)
	if n == 0 {
		return nil, nil
	}
	p, err := e.f.plan.predict(ctx, e.model)
	if err != nil {
		return nil, err
	}
	for k, i := range e.f.indices[e.f.free:] {
		off[i] = min(0, e.f.bounds[k].inside(p[e.f.free+k])) // as a reading that leaks too little
	}
	slices.Sort(sizes)
	const median = 0.6745 // of a standard normal variable's size
	scale := max(1, sizes[n/2]/median)
	apart, err := e.apartFrom(ctx, x.outlying.indices())
	if err != nil {
		return nil, err
	}
	for _, o := range apart {
		off[o.index] = o.left / o.standard
	}
	threshold := scale * uncertainty.CoverageFactor(1-mistaken/float64(e.f.count()), 0)
	for i, v := range off {
		if math.Abs(v) <= threshold {
			delete(off, i)
		}
	}
	if float64(len(off)) > mostOutlying*float64(e.f.count()) {
		return nil, nil
	}
	return off, nil
}

// lone is a reading that was not fitted: what is left of it above the curve, and its standard uncertainty: of
// amplitude, but of an "at least" reading the one in units of the other.
type lone struct {
	index          int
	left, standard float64
}

// apartFrom returns how far readings that were not fitted lie from the curve with the shared errors that those
// fitted ask for.
func (x *hypothesis) apartFrom(ctx context.Context, indices []int) ([]lone, error) {
	if len(indices) == 0 {
		return nil, nil
	}
	white := make([]float64, x.f.count())
	if err := x.f.differences(ctx, x.model, white); err != nil {
		return nil, err
	}
	z := map[pull]float64{}
	for k, v := range x.f.estimate(white[:x.f.free]) {
		z[x.f.factors[k].pull] = v
	}
	g, err := x.f.on(indices)
	if err != nil {
		return nil, err
	}
	r := make([]float64, g.count())
	if err := g.differences(ctx, x.model, r); err != nil {
		return nil, err
	}
	var all []lone
	for k, i := range g.indices[:g.free] {
		for _, u := range g.factors {
			r[k] -= u.u[k] * z[u.pull]
		}
		all = append(all, lone{i, r[k], g.point[k]})
	}
	if g.free == g.count() {
		return all, nil
	}
	p, err := g.plan.predict(ctx, x.model)
	if err != nil {
		return nil, err
	}
	for k, i := range g.indices[g.free:] {
		all = append(all, lone{i, min(0, g.bounds[k].inside(p[g.free+k])), 1})
	}
	return all, nil
}

// flag looks for outliers about what was found, and reports whether others were left out of that.
func (x *inquiry) flag(ctx context.Context) (changed bool, err error) {
	now, err := x.judgeOutliers(ctx, x.found.freest())
	if err != nil {
		return false, err
	}
	changed = len(now) != len(x.outlying)
	for i := range now {
		changed = changed || !x.outlying.has(i)
	}
	x.outlying = now
	return changed, nil
}
