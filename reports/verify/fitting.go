package verify

import (
	"context"
	"errors"
	"math"
	"slices"

	"wedgework/reports/fit"
	"wedgework/reports/uncertainty"
)

// fitter compares models with readings in whitened leak amplitude; forward ones, which only gross hypotheses need, in
// the amplitude of what gets through.
type fitter struct {
	model    Model  // as specified
	plan     *batch // free readings first, then censored ones
	indices  []int  // of the observations, in that order
	measured []float64
	bounds   []bound // of the censored ones
	free     int     // how many are not censored
	white    *uncertainty.Whitener
	point    []float64 // standard uncertainty of each amplitude that it shares with no other
	factors  []factor
	offset   []float64                            // what the present pulls do by the straight slope
	on       func(indices []int) (*fitter, error) // the same of other observations
}

// factor is a shared error: what one standard uncertainty of it does to the amplitudes.
type factor struct {
	pull
	moves bool // the abscissa, and enters a model there
	u     []float64
}

// bound is an "at least" reading: what was read lay below most, a net power or, where the reading would have been one
// of amplitude as any other, an amplitude.
type bound struct {
	most, sigma float64
	amplitude   bool
}

// bounded is the bound of a censored reading at a leak power, by a threshold of power with its standard uncertainty. A
// reading that drowned has its noise in power; one that stayed beyond what its instrument shows is held against the
// model as it would be if it were shown.
func (o observation) bounded(most, u, level float64) bound {
	if most <= censoring*u {
		return bound{most, u, false}
	}
	y, _ := o.amplitude(most)
	_, slope := o.amplitude(max(most+level-o.power, most/2))
	return bound{y, u * slope, true}
}

// inside is how far a model's net power lies below the bound, in standard uncertainties; negative above it.
func (b bound) inside(power float64) float64 {
	if b.amplitude {
		power = sqrt(power)
	}
	return (b.most - power) / b.sigma
}

// about is where the errors of the budget are linearized: the terms about a model, the pulls at which the model's slopes
// are taken, and the leak powers of which errors in dB are a fraction.
type about struct {
	terms []term
	pulls pulls
	level []float64
}

// newFitter takes the observations with the given indices.
func newFitter(d *data, m Model, b uncertainty.Budget, at about, indices []int) (*fitter, error) {
	terms, z, level := at.terms, at.pulls, at.level
	var free, censored []int
	power := d.covariance(without(terms, ofModel), indices, ones(len(indices)))
	f := &fitter{model: m}
	f.on = func(other []int) (*fitter, error) { return newFitter(d, m, b, at, other) }
	for k, i := range indices {
		if most, yes := d.obs[i].threshold(power.Standard(k)); yes {
			censored = append(censored, i)
			f.bounds = append(f.bounds, d.obs[i].bounded(most, power.Standard(k), level[i]))
		} else {
			free = append(free, i)
		}
	}
	f.free, f.indices = len(free), append(slices.Clone(free), censored...)
	scale := make([]float64, len(free))
	for k, i := range free {
		o := d.obs[i]
		y, slope := o.amplitude(o.value)
		f.measured = append(f.measured, y)
		if o.backward() {
			_, slope = o.amplitude(max(o.value+level[i]-o.power, o.value/2))
		}
		scale[k] = 1 / slope
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
	for _, i := range f.indices {
		obs = append(obs, d.obs[i])
	}
	f.plan = newBatch(d, d.moved(obs, b, z))
	f.offset = make([]float64, len(free))
	for _, t := range terms {
		if t.shared == uncertainty.ByPoint {
			continue
		}
		begun := len(f.factors)
		for k, i := range free {
			key := t.pull(d.obs[i].run)
			at := slices.IndexFunc(f.factors[begun:], func(g factor) bool { return g.pull == key })
			if at < 0 {
				at = len(f.factors) - begun
				f.factors = append(f.factors, factor{key, t.moves(), make([]float64, len(free))})
			}
			f.factors[begun+at].u[k] = t.u[i] / scale[k]
			if t.moves() {
				f.offset[k] += t.u[i] / scale[k] * z[key]
			}
		}
	}
	return f, nil
}

func (f *fitter) count() int { return len(f.plan.obs) }

// residuals fills r with measured minus model: whitened amplitudes, then for every censored reading the
// root of twice its negative log-likelihood, that P is read below the threshold T: Phi((T - P)/u), as J. Tobin has it
// (Econometrica 26, 24, 1958).
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
		y, _ := f.plan.obs[i].amplitude(p[i])
		r[i] = f.measured[i] - y + f.offset[i]
	}
	for k, b := range f.bounds {
		r[f.free+k] = math.Sqrt(-2 * logPhi(b.inside(p[f.free+k])))
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
	z := pulls{}
	for k, v := range f.estimate(r[:f.free]) {
		if f.factors[k].moves {
			z[f.factors[k].pull] = min(max(v, -pullMost), pullMost)
		}
	}
	return z, nil
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
	return f.descend(ctx, vs, fit.Problem{Start: start, Tolerance: tolerance})
}

// bottom is solve for where a well is deepest and how deep, roughly, and nothing else of the solution.
func (f *fitter) bottom(ctx context.Context, vs []*vary, start []float64) (*fit.Solution, error) {
	return f.descend(ctx, vs, fit.Problem{Start: start, Tolerance: roughly, Unjudged: true})
}

func (f *fitter) descend(ctx context.Context, vs []*vary, p fit.Problem) (*fit.Solution, error) {
	p.Count, p.MaxIterations = f.count(), patience
	for _, v := range vs {
		p.Lower = append(p.Lower, v.lo)
		p.Upper = append(p.Upper, v.hi)
	}
	of := remembered{model: f.model, vs: vs}
	p.Residuals = func(ctx context.Context, x, r []float64) error {
		m, err := of.at(x)
		if err != nil {
			return err
		}
		return f.residuals(ctx, m, r)
	}
	p.Jacobian = func(ctx context.Context, x, r []float64, columns [][]float64) error {
		m, err := of.at(x)
		if err != nil {
			return err
		}
		if !p.Unjudged {
			r = nil
		}
		return f.jacobian(ctx, nearby(m), vs, x, r, columns)
	}
	s, err := fit.Solve(ctx, p)
	if errors.Is(err, fit.ErrNotConverged) {
		return s, nil // the explanation says so; it is worse than one that did converge, not an error
	}
	return s, err
}

// remembered adjusts a model, and keeps the last: derivatives are taken where the residuals were.
type remembered struct {
	model Model
	vs    []*vary
	x     []float64
	last  Model
}

func (r *remembered) at(x []float64) (Model, error) {
	if r.last != nil && slices.Equal(r.x, x) {
		return r.last, nil
	}
	m, err := adjusted(r.model, r.vs, x)
	if err == nil {
		r.x, r.last = append(r.x[:0], x...), m
	}
	return m, err
}

// jacobian fills columns with the derivatives of the residuals: by central differences, or up to a bound; and where the
// residuals at the parameters are given, to one side of these, which is what walking downhill takes. m is the model there.
func (f *fitter) jacobian(ctx context.Context, m Model, vs []*vary, at, here []float64, columns [][]float64) error {
	sides := 2
	if here != nil {
		sides = 1
	}
	side := make([][]float64, sides*len(vs))
	x := make([]float64, len(side))
	err := each(len(side), func(i int) error {
		p, j := slices.Clone(at), i/sides
		switch up, down := vs[j].around(at[j]); {
		case sides == 1:
			p[j] = vs[j].beside(at[j])
		case i%2 == 0:
			p[j] = up
		default:
			p[j] = down
		}
		x[i] = p[j]
		beside, err := adjusted(m, vs, p)
		if err != nil {
			return err
		}
		side[i] = make([]float64, f.count())
		return f.residuals(ctx, beside, side[i])
	})
	if err != nil {
		return err
	}
	for j, column := range columns {
		up, down, step := side[sides*j], here, x[sides*j]-at[j]
		if sides == 2 {
			down, step = side[2*j+1], x[2*j]-x[2*j+1]
		}
		for i := range column {
			column[i] = (up[i] - down[i]) / step
		}
	}
	return nil
}

// column returns the derivative of the leak amplitudes by a parameter of model m, each over the standard
// uncertainty that the reading shares with no other. Whether two parameters look the same is asked of
// these: whitening would take out what wavelength and temperature errors can imitate and compare what is
// left, which is mostly what a film's slopes do over a few percent of rotation, and they are not known as
// well as that.
func (f *fitter) column(ctx context.Context, m Model, v *vary) ([]float64, error) {
	var r [2][]float64
	var x [2]float64
	x[0], x[1] = v.around(v.at)
	err := each(len(r), func(side int) error {
		moved, err := adjusted(nearby(m), []*vary{v}, x[side:side+1])
		if err != nil {
			return err
		}
		r[side] = make([]float64, f.count())
		return f.differences(ctx, moved, r[side])
	})
	if err != nil {
		return nil, err
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
