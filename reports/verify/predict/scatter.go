package predict

import (
	"context"
	"fmt"
	"math"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/verify/model"
)

// Trials is how many units are drawn within the tolerances. The ends of a 95.45 % interval then lie between the ninth and
// the tenth trial from either side; drawn as strata, 400 settle an expanded uncertainty to 7 % or better.
const Trials = 400

// Scatter is a model over its declared tolerances: units drawn within them. All of their values at all readings come
// from a surface where one holds, and from the units themselves where none does.
type Scatter struct {
	centre  model.Model
	vs      []*model.Variable
	draws   [][]float64 // by trial: the parameters as vary has them
	surface *surface    // nil: every trial is evaluated
}

// NewScatter draws the trials and lays the surface for the readings of a plan.
func NewScatter(ctx context.Context, m model.Model, tolerances map[string]tolerance.Tolerance, p *Batch) (*Scatter, error) {
	s := &Scatter{centre: m}
	var by []tolerance.Tolerance
	for _, parameter := range m.Parameters() {
		t, ok := tolerances[parameter.Path]
		if !ok || t.Value.SI() == 0 {
			continue
		}
		v, err := model.NewVariable(parameter)
		if err != nil {
			return nil, fmt.Errorf("tolerance of %s: %w", parameter.Path, err)
		}
		s.vs, by = append(s.vs, v), append(by, t)
	}
	if len(s.vs) == 0 {
		return s, nil
	}
	s.draw(by)
	return s, s.lay(ctx, by, p)
}

// draw draws the trials, the same each time. Parameters are independent.
func (s *Scatter) draw(by []tolerance.Tolerance) {
	quantiles := make([]func(float64) float64, len(s.vs))
	for j, v := range s.vs {
		quantiles[j] = func(p float64) float64 { return v.Moved(by[j].Quantile(p)) }
	}
	s.draws = tolerance.Hypercube(Trials, 1, quantiles...)
}

// Spread evaluates the trials at the observations of a plan.
func (s *Scatter) Spread(ctx context.Context, p *Batch) (*Spread, error) {
	centre, err := p.Predict(ctx, s.centre)
	if err != nil {
		return nil, err
	}
	out := &Spread{Centre: centre}
	switch {
	case len(s.draws) == 0:
	case s.surface != nil:
		out.Trials = s.surface.trials(p, centre)
	default:
		out.Trials = make([][]float64, len(s.draws))
		err = parallel.Each(len(s.draws), func(t int) (err error) {
			out.Trials[t], err = s.at(ctx, p, s.centre, s.draws[t])
			return err
		})
	}
	return out, err
}

// at evaluates a unit whose parameters depart from those of the model given.
func (s *Scatter) at(ctx context.Context, p *Batch, m model.Model, x []float64) ([]float64, error) {
	m, err := model.Adjust(m, s.vs, x)
	if err == nil {
		var values []float64
		if values, err = p.Predict(ctx, m); err == nil {
			return values, nil
		}
	}
	paths, at := make([]string, len(s.vs)), make([]quantity.Quantity, len(s.vs))
	for j, v := range s.vs {
		paths[j], at[j] = v.Path, v.Quantity(x[j])
	}
	return nil, tolerance.Located(tolerance.Unbuildable, paths, at, err)
}

const (
	// proofs is how many trials, those farthest from nominal, a surface is held against.
	proofs = 4
	// proofShare of the interval of all trials, or proofLeast of the value itself (0.0004 dB), is what a surface may be off.
	proofShare = 0.02
	proofLeast = 1e-4
)

// lay finds a surface that passes for the trials it is most likely to be wrong for, midway between its nodes. The first has
// the double bounces of the model in the centre, which is most of the work and seldom matters to a difference.
func (s *Scatter) lay(ctx context.Context, by []tolerance.Tolerance, p *Batch) error {
	if tolerance.Places(len(s.vs)) > Trials {
		return nil // as dear as the trials
	}
	far := s.farthest(by)
	var real [proofs][]float64
	var between *Batch
	for _, m := range []model.Model{model.Rough(s.centre), s.centre} {
		laid, err := s.newSurface(ctx, m, by, p)
		if err != nil {
			return err
		}
		if between == nil {
			between = laid.between(p)
			err := parallel.Each(proofs, func(k int) (err error) {
				real[k], err = s.at(ctx, between, s.centre, s.draws[far[k]])
				return err
			})
			if err != nil {
				return err
			}
		}
		centre, err := between.Predict(ctx, s.centre)
		if err != nil {
			return err
		}
		if passes(laid.trials(between, centre), centre, far, real[:]) {
			s.surface = laid
			return nil
		}
	}
	return nil
}

// farthest orders the trials by how far from nominal they are, in standard deviations.
func (s *Scatter) farthest(by []tolerance.Tolerance) []int {
	centre, sigma := make([]float64, len(s.vs)), make([]float64, len(s.vs))
	for j, v := range s.vs {
		centre[j] = v.At
		sigma[j] = by[j].Scale(v.Displaced)
	}
	return tolerance.Farthest(s.draws, centre, sigma)
}

// passes reports whether trials of a surface are what the units themselves say, as closely as their interval needs.
func passes(laid [][]float64, centre []float64, far []int, real [][]float64) bool {
	column := make([]float64, len(laid))
	for i := range centre {
		for t := range laid {
			column[t] = laid[t][i]
		}
		low, high := tails(column)
		may := max(proofShare*(high-low), proofLeast*math.Abs(centre[i]))
		for k, values := range real {
			if !(math.Abs(column[far[k]]-values[i]) <= may) {
				return false
			}
		}
	}
	return true
}
