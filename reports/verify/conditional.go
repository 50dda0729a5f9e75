package verify

import (
	"context"
	"math"
)

// alone holds what is left of each free reading of a fitter once the errors that readings share are estimated
// along with the parameters and put on the curve. The errors of a run move all its readings together; laid on
// the readings one by one they would count as often as there are readings.
type alone struct {
	left     []float64 // reading minus curve, amplitude
	standard []float64 // of left
	curve    []float64 // standard uncertainty of the curve, shared errors included
}

// pinned is the share of its own variance under which a reading has fixed the curve by itself: then nothing is
// left of it, and nothing can be said.
const pinned = 1e-4

// alone lays an explanation through the readings it was fitted to. With r the whitened residuals and J their
// derivatives by the parameters, what is left is D^1/2 A r with A = uncertainty.Whitener.Alone, and its variance
// D (A A^T - A J C J^T A^T): the fit has used some of the scatter up.
func (x *hypothesis) alone(ctx context.Context) (*alone, error) {
	f := x.f
	n := f.free
	white := make([]float64, f.count())
	var columns [][]float64
	if x.solution != nil {
		copy(white, x.solution.Residuals)
		for _, j := range x.solution.Jacobian {
			columns = append(columns, f.white.Alone(j[:n]))
		}
	} else if err := f.residuals(ctx, x.model, white); err != nil {
		return nil, err
	}
	a := &alone{left: f.white.Alone(white[:n]), standard: make([]float64, n), curve: make([]float64, n)}
	for i := range n {
		v := f.white.AloneVariance(i)
		for j := range columns {
			for k := range columns {
				v -= columns[j][i] * x.solution.Covariance[j][k] * columns[k][i]
			}
		}
		v = min(max(v, 0), 1)
		a.curve[i] = f.point[i] * math.Sqrt(1-v)
		if v < pinned {
			a.left[i] = 0
			v = pinned
		}
		a.left[i] *= f.point[i]
		a.standard[i] = f.point[i] * math.Sqrt(v)
	}
	return a, nil
}

// Residual is what is left of a reading above the curve of the selected explanation, all in amplitude.
type Residual struct {
	Left     float64
	Standard float64 // of Left
	Curve    float64 // standard uncertainty of the curve; 0 for a reading that was not fitted
}

// Residuals compares readings with the selected explanation with the errors that they share put on its curve:
// those have been estimated from the same readings, and laid on each of them as an uncertainty of its own they
// would hide what is left. ISO 13528 asks that the two compared be independent; a reading that took part in the fit
// is not, so that the difference has less variance than both together. They are by observation; nil when nothing was fitted.
func (f *Findings) Residuals(ctx context.Context) (map[int]Residual, error) {
	if !f.Fitted() {
		return nil, nil
	}
	best := f.found.best()
	a, err := best.alone(ctx)
	if err != nil {
		return nil, err
	}
	all := map[int]Residual{}
	for k, i := range best.f.indices[:best.f.free] {
		all[i] = Residual{a.left[k], a.standard[k], a.curve[k]}
	}
	apart, err := best.apartFrom(ctx, f.outlying.indices())
	if err != nil {
		return nil, err
	}
	for _, o := range apart {
		all[o.index] = Residual{o.left, o.standard, 0}
	}
	return all, nil
}
