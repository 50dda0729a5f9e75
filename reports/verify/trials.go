package verify

import (
	"context"
	"fmt"
	"math"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
)

// trials is how many units are drawn within the tolerances. The ends of a 95.45 % interval then lie between the ninth and
// the tenth trial from either side; drawn as strata, 400 settle an expanded uncertainty to 7 % or better.
const trials = 400

// scatter is a model over its declared tolerances: units drawn within them. All of their values at all readings come
// from a surface where one holds, and from the units themselves where none does.
type scatter struct {
	centre  Model
	vs      []*vary
	draws   [][]float64 // by trial: the parameters as vary has them
	surface *surface    // nil: every trial is evaluated
}

// scattered draws the trials and lays the surface for the readings of a plan.
func scattered(ctx context.Context, m Model, tolerances map[string]Tolerance, p *batch) (*scatter, error) {
	s := &scatter{centre: m}
	var by []Tolerance
	for _, parameter := range m.Parameters() {
		t, ok := tolerances[parameter.Path]
		if !ok || t.Value.SI() == 0 {
			continue
		}
		v, err := newVary(parameter)
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
func (s *scatter) draw(by []Tolerance) {
	quantiles := make([]func(float64) float64, len(s.vs))
	for j, v := range s.vs {
		quantiles[j] = func(p float64) float64 { return v.moved(by[j].Quantile(p)) }
	}
	s.draws = tolerance.Hypercube(trials, 1, quantiles...)
}

// spread evaluates the trials at the observations of a plan.
func (s *scatter) spread(ctx context.Context, p *batch) (*spread, error) {
	centre, err := p.predict(ctx, s.centre)
	if err != nil {
		return nil, err
	}
	out := &spread{centre: centre}
	switch {
	case len(s.draws) == 0:
	case s.surface != nil:
		out.trials = s.surface.trials(p, centre)
	default:
		out.trials = make([][]float64, len(s.draws))
		err = each(len(s.draws), func(t int) (err error) {
			out.trials[t], err = s.at(ctx, p, s.centre, s.draws[t])
			return err
		})
	}
	return out, err
}

// at evaluates a unit whose parameters depart from those of the model given.
func (s *scatter) at(ctx context.Context, p *batch, m Model, x []float64) ([]float64, error) {
	m, err := adjusted(m, s.vs, x)
	if err == nil {
		var values []float64
		if values, err = p.predict(ctx, m); err == nil {
			return values, nil
		}
	}
	paths, at := make([]string, len(s.vs)), make([]quantity.Quantity, len(s.vs))
	for j, v := range s.vs {
		paths[j], at[j] = v.path, v.quantity(x[j])
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
func (s *scatter) lay(ctx context.Context, by []Tolerance, p *batch) error {
	if tolerance.Places(len(s.vs)) > trials {
		return nil // as dear as the trials
	}
	far := s.farthest(by)
	var real [proofs][]float64
	var between *batch
	for _, m := range []Model{rough(s.centre), s.centre} {
		laid, err := s.newSurface(ctx, m, by, p)
		if err != nil {
			return err
		}
		if between == nil {
			between = laid.between(p)
			err := each(proofs, func(k int) (err error) {
				real[k], err = s.at(ctx, between, s.centre, s.draws[far[k]])
				return err
			})
			if err != nil {
				return err
			}
		}
		centre, err := between.predict(ctx, s.centre)
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
func (s *scatter) farthest(by []Tolerance) []int {
	centre, sigma := make([]float64, len(s.vs)), make([]float64, len(s.vs))
	for j, v := range s.vs {
		centre[j] = v.at
		sigma[j] = by[j].Scale(v.displaced)
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
