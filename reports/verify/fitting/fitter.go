package fitting

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"wedgework/optics/parallel"
	"wedgework/reports/fit"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// Fitter compares models with readings in whitened leakage amplitude; forward ones, which only gross hypotheses need,
// in the amplitude of what gets through.
type Fitter struct {
	Model    model.Model    // as specified
	Plan     *predict.Batch // free readings first, then censored ones
	Indices  []int          // of the observations, in that order
	Measured []float64
	Bounds   []bound // of the censored ones
	Numbers  int     // how many are not censored
	white    *uncertainty.Whitener
	point    []float64 // standard uncertainty of each amplitude that it shares with no other
	factors  []factor
	offset   []float64                            // what the present pulls do by the straight slope
	On       func(indices []int) (*Fitter, error) // the same of other observations
}

// factor is a shared error: what one standard uncertainty of it does to the amplitudes.
type factor struct {
	readings.SharedError
	moves bool // the abscissa, and enters a model there
	u     []float64
}

// bound is an "at least" reading: what was read lay below most, a net power or, where the reading would have been one
// of amplitude as any other, an amplitude.
type bound struct {
	most, sigma float64
	amplitude   bool
}

// bounded is the bound of a censored reading at a leakage power, by a threshold of power with its standard uncertainty.
// A reading that drowned has its noise in power; one that stayed beyond what its instrument shows is compared with the
// model as it would be if it were shown.
func bounded(o *readings.Observation, most, u, level float64) bound {
	if most <= readings.Censoring*u {
		return bound{most, u, false}
	}
	y, _ := o.Amplitude(most)
	_, slope := o.Amplitude(max(most+level-o.Power, most/2))
	return bound{y, u * slope, true}
}

// Inside is how far a model's net power lies below the bound, in standard uncertainties; negative above it.
func (b bound) Inside(power float64) float64 {
	if b.amplitude {
		power = readings.Root(power)
	}
	return (b.most - power) / b.sigma
}

// Linearization is where the errors of the budget are linearized: the terms about a model, the pulls at which the
// model's slopes are taken, and the leakage powers of which errors in dB are a fraction.
type Linearization struct {
	Terms []readings.Term
	Pulls readings.Pulls
	Level []float64
}

// NewFitter takes the observations with the given indices.
func NewFitter(d *readings.Set, m model.Model, b uncertainty.Budget, at Linearization, indices []int) (*Fitter, error) {
	terms, z, level := at.Terms, at.Pulls, at.Level
	var free, censored []int
	power := d.Covariance(readings.Without(terms, readings.OfModel), indices, readings.Ones(len(indices)))
	f := &Fitter{Model: m}
	f.On = func(other []int) (*Fitter, error) { return NewFitter(d, m, b, at, other) }
	for k, i := range indices {
		if most, yes := d.Obs[i].Threshold(power.Standard(k)); yes {
			censored = append(censored, i)
			f.Bounds = append(f.Bounds, bounded(&d.Obs[i], most, power.Standard(k), level[i]))
		} else {
			free = append(free, i)
		}
	}
	f.Numbers, f.Indices = len(free), append(slices.Clone(free), censored...)
	scale := make([]float64, len(free))
	for k, i := range free {
		o := d.Obs[i]
		y, slope := o.Amplitude(o.Value)
		f.Measured = append(f.Measured, y)
		if o.Backward() {
			_, slope = o.Amplitude(max(o.Value+level[i]-o.Power, o.Value/2))
		}
		scale[k] = 1 / slope
	}
	v := d.Covariance(terms, free, scale)
	var err error
	if f.white, err = v.Whitener(); err != nil {
		return nil, err
	}
	for k := range free {
		f.point = append(f.point, v.Point(k))
	}
	var obs []readings.Observation
	for _, i := range f.Indices {
		obs = append(obs, d.Obs[i])
	}
	f.Plan = predict.NewBatch(d, d.Moved(obs, b, z))
	f.offset = make([]float64, len(free))
	f.share(d, at, free, scale)
	return f, nil
}

// share finds the errors that free observations share, and what the present pulls do by the straight slope.
func (f *Fitter) share(d *readings.Set, lin Linearization, free []int, scale []float64) {
	for _, t := range lin.Terms {
		if t.Shared == uncertainty.ByPoint {
			continue
		}
		begun := len(f.factors)
		if t.Shared == uncertainty.ByReference {
			f.references(t, free, scale)
			continue
		}
		for k, i := range free {
			key := t.SharedError(d.Obs[i].Run)
			at := slices.IndexFunc(f.factors[begun:], func(g factor) bool { return g.SharedError == key })
			if at < 0 {
				at = len(f.factors) - begun
				f.factors = append(f.factors, factor{key, t.Moves(), make([]float64, len(free))})
			}
			f.factors[begun+at].u[k] = t.U[i] / scale[k]
			if t.Moves() {
				f.offset[k] += t.U[i] / scale[k] * lin.Pulls[key]
			}
		}
	}
}

func (f *Fitter) Count() int { return len(f.Plan.Obs) }

// references enters the errors of reference readings as factors.
func (f *Fitter) references(t readings.Term, free []int, scale []float64) {
	at := map[int]int{}
	for k, i := range free {
		for _, m := range t.Common[i] {
			n, ok := at[m.Error]
			if !ok {
				n = len(f.factors)
				at[m.Error] = n
				key := readings.SharedError{Name: fmt.Sprintf("%s %d", t.Name, m.Error), Run: -1}
				f.factors = append(f.factors, factor{key, false, make([]float64, len(free))})
			}
			f.factors[n].u[k] = m.Move / scale[k]
		}
	}
}

// residuals fills r with measured minus model: whitened amplitudes, then for every censored reading the
// root of twice its negative log-likelihood, that P is read below the threshold T: Phi((T - P)/u), as J. Tobin has it
// (Econometrica 26, 24, 1958).
func (f *Fitter) residuals(ctx context.Context, m model.Model, r []float64) error {
	if err := f.differences(ctx, m, r); err != nil {
		return err
	}
	f.white.Apply(r[:f.Numbers])
	return nil
}

// differences is residuals before whitening: plain amplitudes.
func (f *Fitter) differences(ctx context.Context, m model.Model, r []float64) error {
	p, err := f.Plan.Predict(ctx, m)
	if err != nil {
		return err
	}
	for i := range f.Numbers {
		y, _ := f.Plan.Obs[i].Amplitude(p[i])
		r[i] = f.Measured[i] - y + f.offset[i]
	}
	for k, b := range f.Bounds {
		r[f.Numbers+k] = math.Sqrt(-2 * logPhi(b.Inside(p[f.Numbers+k])))
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

// Pulls returns the shared errors that model m asks for.
func (f *Fitter) Pulls(ctx context.Context, m model.Model) (readings.Pulls, error) {
	r := make([]float64, f.Count())
	if err := f.differences(ctx, m, r); err != nil {
		return nil, err
	}
	z := readings.Pulls{}
	for k, v := range f.estimate(r[:f.Numbers]) {
		if f.factors[k].moves {
			z[f.factors[k].SharedError] = min(max(v, -readings.PullMost), readings.PullMost)
		}
	}
	return z, nil
}

// ChiSquared returns the misfit of a model.
func (f *Fitter) ChiSquared(ctx context.Context, m model.Model) (float64, error) {
	r := make([]float64, f.Count())
	if err := f.residuals(ctx, m, r); err != nil {
		return 0, err
	}
	sum := 0.0
	for _, v := range r {
		sum += v * v
	}
	return sum, nil
}

// Solve fits the parameters from one start.
func (f *Fitter) Solve(ctx context.Context, vs []*model.Variable, start []float64,
	tolerance float64) (*fit.Solution, error) {
	return f.descend(ctx, vs, fit.Problem{Start: start, Tolerance: tolerance})
}

// bottom is solve for where a well is deepest and how deep, roughly, and nothing else of the solution.
func (f *Fitter) bottom(ctx context.Context, vs []*model.Variable, start []float64) (*fit.Solution, error) {
	return f.descend(ctx, vs, fit.Problem{Start: start, Tolerance: roughly, Unjudged: true})
}

func (f *Fitter) descend(ctx context.Context, vs []*model.Variable, p fit.Problem) (*fit.Solution, error) {
	p.Count, p.MaxIterations = f.Count(), Patience
	for _, v := range vs {
		p.Lower = append(p.Lower, v.Lo)
		p.Upper = append(p.Upper, v.Hi)
	}
	of := remembered{model: f.Model, vs: vs}
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
		return f.jacobian(ctx, model.Nearby(m), vs, x, r, columns)
	}
	s, err := fit.Solve(ctx, p)
	if errors.Is(err, fit.ErrNotConverged) {
		return s, nil // the explanation says so; it is worse than one that did converge, not an error
	}
	return s, err
}

// remembered adjusts a model, and keeps the last: derivatives are taken where the residuals were.
type remembered struct {
	model model.Model
	vs    []*model.Variable
	x     []float64
	last  model.Model
}

func (r *remembered) at(x []float64) (model.Model, error) {
	if r.last != nil && slices.Equal(r.x, x) {
		return r.last, nil
	}
	m, err := model.Adjust(r.model, r.vs, x)
	if err == nil {
		r.x, r.last = append(r.x[:0], x...), m
	}
	return m, err
}

// jacobian fills columns with the derivatives of the residuals: by central differences, or up to a bound; and where the
// residuals at the parameters are given, to one side of these, which is what walking downhill takes. m is the model
// there.
func (f *Fitter) jacobian(ctx context.Context, m model.Model, vs []*model.Variable, at, here []float64,
	columns [][]float64) error {
	sides := 2
	if here != nil {
		sides = 1
	}
	side := make([][]float64, sides*len(vs))
	x := make([]float64, len(side))
	err := parallel.Each(len(side), func(i int) error {
		p, j := slices.Clone(at), i/sides
		switch up, down := vs[j].Around(at[j]); {
		case sides == 1:
			p[j] = vs[j].Beside(at[j])
		case i%2 == 0:
			p[j] = up
		default:
			p[j] = down
		}
		x[i] = p[j]
		beside, err := model.Adjust(m, vs, p)
		if err != nil {
			return err
		}
		side[i] = make([]float64, f.Count())
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

// Column returns the derivative of the leakage amplitudes by a parameter of model m, each over the standard
// uncertainty that the reading shares with no other. Whether two parameters are confounded is asked of
// these: whitening would take out what wavelength and temperature errors can imitate and compare what is
// left, which is mostly what a film's slopes do over a few percent of rotation, and they are not known as
// well as that.
func (f *Fitter) Column(ctx context.Context, m model.Model, v *model.Variable) ([]float64, error) {
	var r [2][]float64
	var x [2]float64
	x[0], x[1] = v.Around(v.At)
	err := parallel.Each(len(r), func(side int) error {
		moved, err := model.Adjust(model.Nearby(m), []*model.Variable{v}, x[side:side+1])
		if err != nil {
			return err
		}
		r[side] = make([]float64, f.Count())
		return f.differences(ctx, moved, r[side])
	})
	if err != nil {
		return nil, err
	}
	for i := range r[0] {
		r[0][i] = (r[0][i] - r[1][i]) / (x[0] - x[1])
	}
	f.Weigh(r[0])
	return r[0], nil
}

// Weigh divides differences by the readings' own standard uncertainties; censored ones have it in them.
func (f *Fitter) Weigh(r []float64) {
	for i, u := range f.point {
		r[i] /= u
	}
}

// Wider returns by how much twice the negative log-likelihood goes up because this fitter takes the readings to be more
// uncertain than another does: what an error in dB is in amplitude depends on the leakage that a model expects, and the
// covariance is no longer one and the same, as it is for ordinary explanations. Readings that either takes for censored
// are left out of it.
func (f *Fitter) Wider(other *Fitter) (float64, error) {
	mine, theirs := f.Indices[:f.Numbers], other.Indices[:other.Numbers]
	if !slices.Equal(mine, theirs) {
		var both []int
		for _, i := range mine {
			if slices.Contains(theirs, i) {
				both = append(both, i)
			}
		}
		var err error
		if f, err = f.On(both); err == nil {
			other, err = other.On(both)
		}
		if err != nil {
			return 0, err
		}
	}
	return f.white.LogDet() - other.white.LogDet(), nil
}

// estimate returns the shared errors that the residuals of model r (measured minus model, amplitude, linearized at
// the present pulls) ask for: u^T V^-1 r, the mean of each given the readings, in the order of factors.
func (f *Fitter) estimate(r []float64) []float64 {
	white := append([]float64(nil), r...)
	f.white.Apply(white)
	z := make([]float64, len(f.factors))
	for k, g := range f.factors {
		v := append([]float64(nil), g.u...)
		f.white.Apply(v)
		z[k] = fit.Dot(v, white)
	}
	return z
}
