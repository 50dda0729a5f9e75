package verify

import (
	"context"
	"errors"
	"math"
	"slices"

	"wedgework/reports/fit"
	"wedgework/reports/uncertainty"
)

// fitter compares models with the backward readings in whitened leak amplitude.
type fitter struct {
	model    Model // as specified
	plan     *plan // free readings first, then censored ones
	measured []float64
	sigma    []float64 // of the power of the censored ones
	free     int       // how many are not censored
	white    *uncertainty.Whitener
	point    []float64          // standard uncertainty of each amplitude that it shares with no other
	shared   map[pull][]float64 // what one standard uncertainty of each pull does to the amplitudes
	offset   []float64          // what the present pulls do by the straight slope
}

// censoring is the multiple of its standard uncertainty below which net power only says "at least".
const censoring = 2

// newFitter takes the observations with the given indices, linearized at the pulls z and at the leak
// powers of level.
func (d *data) newFitter(m Model, b uncertainty.Budget, terms []term, indices []int, z pulls, level []float64) (*fitter, error) {
	var free, censored []int
	power := d.covariance(without(terms, ofModel), indices, ones(len(indices)))
	f := &fitter{model: m}
	for k, i := range indices {
		if d.obs[i].value < censoring*power.Standard(k) {
			censored = append(censored, i)
			f.sigma = append(f.sigma, power.Standard(k))
		} else {
			free = append(free, i)
		}
	}
	f.free = len(free)
	scale := make([]float64, len(free))
	for k, i := range free {
		f.measured = append(f.measured, math.Sqrt(d.obs[i].value))
		net := d.obs[i].value + level[i] - d.obs[i].gross
		scale[k] = 2 * math.Sqrt(max(net, d.obs[i].value/2)) // dy = dP / 2y
	}
	v := d.covariance(terms, free, scale)
	var err error
	if f.white, err = v.Whitener(); err != nil {
		return nil, err
	}
	for k := range free {
		f.point = append(f.point, v.Point(k))
	}
	var obs []observation
	for _, i := range append(free, censored...) {
		obs = append(obs, d.obs[i])
	}
	f.plan = d.plan(d.moved(obs, b, z))
	f.shared, f.offset = map[pull][]float64{}, make([]float64, len(free))
	for _, t := range terms {
		if !t.moves() {
			continue
		}
		for k, i := range free {
			key := t.pull(d.obs[i].run)
			if f.shared[key] == nil {
				f.shared[key] = make([]float64, len(free))
			}
			f.shared[key][k] = t.u[i] / scale[k]
			f.offset[k] += t.u[i] / scale[k] * z[key]
		}
	}
	return f, nil
}

func ones(n int) []float64 { return slices.Repeat([]float64{1}, n) }

func (f *fitter) count() int { return len(f.plan.obs) }

// residuals fills r with measured minus model: whitened amplitudes, then for every censored reading the
// root of twice its negative log-likelihood, that power P is read below the threshold 2u: Phi(2 - P/u).
func (f *fitter) residuals(ctx context.Context, m Model, r []float64) error {
	if err := f.differences(ctx, m, r); err != nil {
		return err
	}
	f.white.Apply(r[:f.free])
	return nil
}

// differences is residuals before whitening: plain amplitudes.
func (f *fitter) differences(ctx context.Context, m Model, r []float64) error {
	p, err := f.plan.predict(ctx, m)
	if err != nil {
		return err
	}
	for i := range f.free {
		r[i] = f.measured[i] - sqrt(p[i]) + f.offset[i]
	}
	for k, s := range f.sigma {
		r[f.free+k] = math.Sqrt(-2 * logPhi(censoring-p[f.free+k]/s))
	}
	return nil
}

// logPhi is the logarithm of the normal distribution function, by the leading terms of its asymptotic
// series where the function itself would underflow (Abramowitz and Stegun 26.2.12).
func logPhi(z float64) float64 {
	switch {
	case z > 5:
		return math.Log1p(-math.Erfc(z/math.Sqrt2) / 2)
	case z > -25:
		return math.Log(math.Erfc(-z/math.Sqrt2) / 2)
	}
	z2 := z * z
	return -z2/2 - math.Log(-z*math.Sqrt(2*math.Pi)) + math.Log1p(-1/z2+3/(z2*z2))
}

// pulls returns the shared errors that model m asks for.
func (f *fitter) pulls(ctx context.Context, m Model) (pulls, error) {
	r := make([]float64, f.count())
	if err := f.differences(ctx, m, r); err != nil {
		return nil, err
	}
	return f.estimate(r[:f.free]), nil
}

// chiSquared returns the misfit of a model.
func (f *fitter) chiSquared(ctx context.Context, m Model) (float64, error) {
	r := make([]float64, f.count())
	if err := f.residuals(ctx, m, r); err != nil {
		return 0, err
	}
	sum := 0.0
	for _, v := range r {
		sum += v * v
	}
	return sum, nil
}

// solve fits the parameters from one start.
func (f *fitter) solve(ctx context.Context, vs []*vary, start []float64, tolerance float64) (*fit.Solution, error) {
	p := fit.Problem{Count: f.count(), Start: start, Tolerance: tolerance, MaxIterations: patience}
	for _, v := range vs {
		p.Step = append(p.Step, v.step)
		p.Lower = append(p.Lower, v.lo)
		p.Upper = append(p.Upper, v.hi)
	}
	p.Residuals = func(ctx context.Context, x, r []float64) error {
		m, err := adjusted(f.model, vs, x)
		if err != nil {
			return err
		}
		return f.residuals(ctx, m, r)
	}
	s, err := fit.Solve(ctx, p)
	if errors.Is(err, fit.ErrNotConverged) {
		return s, nil // the explanation says so; it is worse than one that did converge, not an error
	}
	return s, err
}

// column returns the derivative of the leak amplitudes by a parameter of model m, each over the standard
// uncertainty that the reading shares with no other. Whether two parameters look the same is asked of
// these: whitening would take out what wavelength and temperature errors can imitate and compare what is
// left, which is mostly what a film's slopes do over a few percent of rotation, and they are not known as
// well as that.
func (f *fitter) column(ctx context.Context, m Model, v *vary) ([]float64, error) {
	var r [2][]float64
	x := [2]float64{min(v.at+v.step, v.hi), max(v.at-v.step, v.lo)}
	for side := range r {
		moved, err := adjusted(m, []*vary{v}, x[side:side+1])
		if err != nil {
			return nil, err
		}
		r[side] = make([]float64, f.count())
		if err := f.differences(ctx, moved, r[side]); err != nil {
			return nil, err
		}
	}
	for i := range r[0] {
		r[0][i] = (r[0][i] - r[1][i]) / (x[0] - x[1])
	}
	f.weigh(r[0])
	return r[0], nil
}

// weigh divides differences by the readings' own standard uncertainties; censored ones have it in them.
func (f *fitter) weigh(r []float64) {
	for i, u := range f.point {
		r[i] /= u
	}
}
