package fitting

import (
	"context"
	"math"

	"wedgework/reports/verify/readings"
)

// residual holds what is left of each free reading of a fitter once the errors that readings share are estimated
// along with the parameters and put on the curve. The errors of a run move all its readings together; laid on
// the readings one by one they would count as often as there are readings.
type residual struct {
	Left     []float64 // reading minus curve, amplitude
	Standard []float64 // of left
	Curve    []float64 // standard uncertainty of the curve, shared errors included
}

// Pinned is the share of its own variance under which a reading has fixed the curve by itself: then nothing is
// left of it, and nothing can be said.
const Pinned = 1e-4

// Alone lays an explanation through the readings it was fitted to. With r the whitened residuals and J their
// derivatives by the parameters, what is left is D^1/2 A r with A = uncertainty.Whitener.Alone, and its variance
// D (A A^T - A J C J^T A^T): the fit has used some of the scatter up.
func (x *Hypothesis) Alone(ctx context.Context) (*residual, error) {
	f := x.Fitter
	n := f.Numbers
	white := make([]float64, f.Count())
	var columns [][]float64
	if x.Solution != nil {
		copy(white, x.Solution.Residuals)
		for _, j := range x.Solution.Jacobian {
			columns = append(columns, f.white.Alone(j[:n]))
		}
	} else if err := f.residuals(ctx, x.Model, white); err != nil {
		return nil, err
	}
	a := &residual{Left: f.white.Alone(white[:n]), Standard: make([]float64, n), Curve: make([]float64, n)}
	for i := range n {
		v := f.white.AloneVariance(i)
		for j := range columns {
			for k := range columns {
				v -= columns[j][i] * x.Solution.Covariance[j][k] * columns[k][i]
			}
		}
		v = min(max(v, 0), 1)
		a.Curve[i] = f.point[i] * math.Sqrt(1-v)
		if v < Pinned {
			a.Left[i] = 0
			v = Pinned
		}
		a.Left[i] *= f.point[i]
		a.Standard[i] = f.point[i] * math.Sqrt(v)
	}
	return a, nil
}

// lone is a reading that was not fitted: what is left of it above the curve, and its standard uncertainty: of
// amplitude, but of an "at least" reading the one in units of the other.
type lone struct {
	Index          int
	Left, Standard float64
}

// ApartFrom returns how far readings that were not fitted lie from the curve with the shared errors that those
// fitted ask for.
func (x *Hypothesis) ApartFrom(ctx context.Context, indices []int) ([]lone, error) {
	if len(indices) == 0 {
		return nil, nil
	}
	white := make([]float64, x.Fitter.Count())
	if err := x.Fitter.differences(ctx, x.Model, white); err != nil {
		return nil, err
	}
	z := map[readings.SharedError]float64{}
	for k, v := range x.Fitter.estimate(white[:x.Fitter.Numbers]) {
		z[x.Fitter.factors[k].SharedError] = v
	}
	g, err := x.Fitter.On(indices)
	if err != nil {
		return nil, err
	}
	r := make([]float64, g.Count())
	if err := g.differences(ctx, x.Model, r); err != nil {
		return nil, err
	}
	var all []lone
	for k, i := range g.Indices[:g.Numbers] {
		for _, u := range g.factors {
			r[k] -= u.u[k] * z[u.SharedError]
		}
		all = append(all, lone{i, r[k], g.point[k]})
	}
	if g.Numbers == g.Count() {
		return all, nil
	}
	p, err := g.Plan.Predict(ctx, x.Model)
	if err != nil {
		return nil, err
	}
	for k, i := range g.Indices[g.Numbers:] {
		all = append(all, lone{i, min(0, g.Bounds[k].Inside(p[g.Numbers+k])), 1})
	}
	return all, nil
}

// Residual is what is left of a reading above the curve of the selected explanation, all in amplitude.
type Residual struct {
	Left     float64
	Standard float64 // of Left
	Curve    float64 // standard uncertainty of the curve; 0 for a reading that was not fitted
}
