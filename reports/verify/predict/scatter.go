package predict

import (
	"context"
	"fmt"
	"math"

	"wedgework/optics/parallel"
	"wedgework/optics/tolerance"
	"wedgework/reports/verify/model"
)

// Trials is how many units are drawn within the tolerances. The ends of a 95.45 % interval then lie between the ninth
// and the tenth trial from either side; drawn as strata, 400 settle an expanded uncertainty to 7 % or better.
const Trials = 400

// Scatter is a model over its declared tolerances: units drawn within them. All of their values at all readings come
// from a surface where one holds, and from the units themselves where none does.
type Scatter struct {
	centre  model.Model
	sample  *tolerance.Sample // nil without tolerances
	surface *surface          // nil: every trial is evaluated
}

// NewScatter draws the trials and lays the surface for the readings of a plan.
func NewScatter(ctx context.Context, m model.Model, tolerances map[string]tolerance.Tolerance,
	p *Batch) (*Scatter, error) {
	s := &Scatter{centre: m}
	var axes []*tolerance.Axis
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
		axes, by = append(axes, &v.Axis), append(by, t)
	}
	if len(axes) == 0 {
		return s, nil
	}
	s.sample = tolerance.NewSample(Trials, 1, axes, by)
	return s, s.lay(ctx, p)
}

// Spread evaluates the trials at the observations of a plan.
func (s *Scatter) Spread(ctx context.Context, p *Batch) (*Spread, error) {
	centre, err := p.Predict(ctx, s.centre)
	if err != nil {
		return nil, err
	}
	out := &Spread{Centre: centre}
	switch {
	case s.sample == nil:
	case s.surface != nil:
		out.Trials = s.surface.trials(p, centre)
	default:
		out.Trials = make([][]float64, Trials)
		err = parallel.Each(Trials, func(t int) (err error) {
			out.Trials[t], err = s.at(ctx, p, s.centre, s.sample.Draws[t])
			return err
		})
	}
	return out, err
}

// at evaluates a unit whose parameters depart from those of the model given.
func (s *Scatter) at(ctx context.Context, p *Batch, m model.Model, x []float64) ([]float64, error) {
	m, err := m.Adjusted(s.sample.Values(x))
	if err == nil {
		var values []float64
		if values, err = p.Predict(ctx, m); err == nil {
			return values, nil
		}
	}
	return nil, s.sample.Unbuildable(x, err)
}

const (
	// proofs is how many trials, those farthest from nominal, a surface is compared with.
	proofs = 4
	// proofLeast of the value itself, 0.0004 dB, is what a surface may be off where the interval of the trials is
	// narrow.
	proofLeast = 1e-4
)

// lay finds a surface that passes for the trials it is most likely to be wrong for, midway between its nodes. The first
// has the double reflections of the model in the centre, which is most of the work and seldom matters to a difference.
func (s *Scatter) lay(ctx context.Context, p *Batch) error {
	if s.sample.Places() > Trials {
		return nil // as dear as the trials
	}
	far := s.sample.Farthest()
	var real [proofs][]float64
	var between *Batch
	for _, m := range []model.Model{model.Rough(s.centre), s.centre} {
		laid, err := s.newSurface(ctx, m, p)
		if err != nil {
			return err
		}
		if between == nil {
			between = laid.between(p)
			err := parallel.Each(proofs, func(k int) (err error) {
				real[k], err = s.at(ctx, between, s.centre, s.sample.Draws[far[k]])
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

// passes reports whether trials of a surface are what the units themselves say, as closely as their interval needs.
func passes(laid [][]float64, centre []float64, far []int, real [][]float64) bool {
	column := make([]float64, len(laid))
	for i := range centre {
		for t := range laid {
			column[t] = laid[t][i]
		}
		low, high := tails(column)
		may := max(tolerance.ProofShare*(high-low), proofLeast*math.Abs(centre[i]))
		for k, values := range real {
			if !(math.Abs(column[far[k]]-values[i]) <= may) {
				return false
			}
		}
	}
	return true
}
