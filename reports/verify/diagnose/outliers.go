package diagnose

import (
	"context"
	"math"
	"slices"

	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/readings"
)

const (
	// mistaken is the chance that any reading of a sound measurement is called an outlier (a choice).
	mistaken = 1e-3
	// mostOutlying is the share of the readings that may be outliers: of more than that it is the model that is wrong.
	mostOutlying = 0.1
	// rounds bounds how often outliers are looked for anew in a fit without them.
	rounds = 4
)

// wild finds the readings that differ from their own neighbours, before any model is asked: one of them would draw a
// fit of squares after it. A reading is compared with the median of three straight lines, each through a
// neighbour on either side, so that one wild neighbour leaves two; how far those lines differ says how far the
// curve bends.
func (x *inquiry) wild() []int {
	const (
		least = 1.0 // dB off, at the least
		times = 12  // standard uncertainties off, at the least
	)
	var found []int
	for run := range x.Set.Runs {
		all := x.Set.Sorted(run)
		for k := 3; k < len(all)-3; k++ {
			if slices.ContainsFunc(all[k-3:k+4], func(i int) bool { return x.Set.Obs[i].Bound }) {
				continue // a bound lies on no line
			}
			o := x.Set.Obs[all[k]]
			var lines [3]float64
			for j := range lines {
				a, b := x.Set.Obs[all[k-j-1]], x.Set.Obs[all[k+j+1]]
				at := 0.5
				if b.Wavelength > a.Wavelength {
					at = float64((o.Wavelength - a.Wavelength) / (b.Wavelength - a.Wavelength))
				}
				lines[j] = a.Read + at*(b.Read-a.Read)
			}
			slices.Sort(lines[:])
			bend := min(lines[1]-lines[0], lines[2]-lines[1])
			if math.Abs(o.Read-lines[1]) > least+2*bend+times*o.LevelNoise(x.Budget) {
				found = append(found, all[k])
			}
		}
	}
	return found
}

// judgeOutliers returns the readings that lie too far off an explanation, those that were left out of its fit
// included. The scale is the robust one of the readings that were fitted: where a model does not fit, its misfit
// makes no outliers.
func (x *inquiry) judgeOutliers(ctx context.Context, e *fitting.Hypothesis) (readings.Outlying, error) {
	off := readings.Outlying{}
	a, err := e.Alone(ctx)
	if err != nil {
		return nil, err
	}
	var sizes []float64
	for k, i := range e.Fitter.Indices[:e.Fitter.Numbers] {
		off[i] = a.Left[k] / a.Standard[k]
		sizes = append(sizes, math.Abs(off[i]))
	}
	n := len(sizes)
	if n == 0 {
		return nil, nil
	}
	p, err := e.Fitter.Plan.Predict(ctx, e.Model)
	if err != nil {
		return nil, err
	}
	for k, i := range e.Fitter.Indices[e.Fitter.Numbers:] {
		off[i] = min(0, e.Fitter.Bounds[k].Inside(p[e.Fitter.Numbers+k])) // as a reading that leaks too little
	}
	slices.Sort(sizes)
	const median = 0.6745 // of a standard normal variable's size
	scale := max(1, sizes[n/2]/median)
	apart, err := e.ApartFrom(ctx, x.outlying.Indices())
	if err != nil {
		return nil, err
	}
	for _, o := range apart {
		off[o.Index] = o.Left / o.Standard
	}
	threshold := scale * uncertainty.CoverageFactor(1-mistaken/float64(e.Fitter.Count()), 0)
	for i, v := range off {
		if math.Abs(v) <= threshold {
			delete(off, i)
		}
	}
	if float64(len(off)) > mostOutlying*float64(e.Fitter.Count()) {
		return nil, nil
	}
	return off, nil
}

// flag looks for outliers about what was found, and reports whether others were left out of that.
func (x *inquiry) flag(ctx context.Context) (changed bool, err error) {
	now, err := x.judgeOutliers(ctx, x.found.freest())
	if err != nil {
		return false, err
	}
	changed = len(now) != len(x.outlying)
	for i := range now {
		changed = changed || !x.outlying.Has(i)
	}
	x.outlying = now
	return changed, nil
}
