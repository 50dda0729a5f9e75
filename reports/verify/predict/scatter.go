package predict

import (
	"context"
	"fmt"
	"math"

	"wedgework/optics/parallel"
	"wedgework/optics/tolerance"
	"wedgework/reports/limits"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
)

// Trials is how many units are drawn within the tolerances. The ends of a 95.45 % interval then lie between the ninth
// and the tenth trial from either side; drawn as strata, 400 settle an expanded uncertainty to 7 % or better.
const Trials = 400

// Scatter is a model over its declared tolerances: units drawn within them. All of their values at all readings come
// from surfaces where they hold, and from the units themselves where none does.
type Scatter struct {
	centre   model.Model
	sample   *tolerance.Sample // nil without tolerances
	surfaces []*surface        // of each family; nil: every trial is evaluated
}

// families are the quantities whose trials come from one surface: what passes for one need not for another.
var families = [][]limits.Quantity{{limits.Isolation, limits.InsertionLoss}, {limits.PDL}, {limits.DGD},
	{limits.ReturnLoss}, {limits.InsertionLossSlow, limits.InsertionLossFast}, {limits.ExtinctionRatio}}

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
	if s.sample == nil {
		return out, nil
	}
	out.Trials = room(len(p.Obs))
	for f, quantities := range families {
		part, at := p.Only(quantities)
		if len(at) == 0 {
			continue
		}
		if err := s.family(ctx, f, part, picked(centre, at), out.Trials, at); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// room is for n values of every trial.
func room(n int) [][]float64 {
	all, values := make([][]float64, Trials), make([]float64, Trials*n)
	for t := range all {
		all[t] = values[t*n : (t+1)*n : (t+1)*n]
	}
	return all
}

// picked are the values at some places.
func picked(values []float64, at []int) []float64 {
	out := make([]float64, len(at))
	for k, i := range at {
		out[k] = values[i]
	}
	return out
}

// family evaluates the trials of one family, into the places of each that are its observations'.
func (s *Scatter) family(ctx context.Context, f int, p *Batch, centre []float64, into [][]float64, places []int) error {
	if s.surfaces != nil && s.surfaces[f] != nil {
		s.surfaces[f].trials(p, centre, into, places)
		return nil
	}
	return parallel.Each(Trials, func(t int) error {
		values, err := s.at(ctx, p, s.centre, s.sample.Draws[t])
		for k, v := range values {
			into[t][places[k]] = v
		}
		return err
	})
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

// resolved is what a PDL in dB and a DGD in ps may be off: no instrument resolves it (a choice, as in tolerance).
var resolved = map[limits.Quantity]float64{limits.PDL: 5e-4, limits.DGD: 1e-4}

// lay finds surfaces that pass for the trials they are most likely to be wrong for, midway between their nodes. The
// first has the double reflections of the model in the centre, which is most of the work and seldom matters to a
// difference.
func (s *Scatter) lay(ctx context.Context, p *Batch) error {
	if s.sample.Places() > Trials {
		return nil // as dear as the trials
	}
	s.surfaces = make([]*surface, len(families))
	for f, quantities := range families {
		part, at := p.Only(quantities)
		if len(at) == 0 {
			continue
		}
		var err error
		if s.surfaces[f], err = s.layOne(ctx, part); err != nil {
			return err
		}
	}
	return nil
}

// layOne is lay for one family; nil where no surface passes.
func (s *Scatter) layOne(ctx context.Context, p *Batch) (*surface, error) {
	far := s.sample.Farthest()
	var real [proofs][]float64
	var between *Batch
	for _, m := range []model.Model{model.Rough(s.centre), s.centre} {
		laid, err := s.newSurface(ctx, m, p)
		if err != nil {
			return nil, err
		}
		if between == nil {
			between = laid.between(p)
			err := parallel.Each(proofs, func(k int) (err error) {
				real[k], err = s.at(ctx, between, s.centre, s.sample.Draws[far[k]])
				return err
			})
			if err != nil {
				return nil, err
			}
		}
		centre, err := between.Predict(ctx, s.centre)
		if err != nil {
			return nil, err
		}
		trials := room(len(between.Obs))
		laid.trials(between, centre, trials, readings.UpTo(len(between.Obs)))
		if passes(between, trials, centre, far, real[:]) {
			return laid, nil
		}
	}
	return nil, nil
}

// passes reports whether trials of a surface are what the units themselves say, as closely as their interval needs.
func passes(p *Batch, laid [][]float64, centre []float64, far []int, real [][]float64) bool {
	column := make([]float64, len(laid))
	for i := range centre {
		for t := range laid {
			column[t] = laid[t][i]
		}
		low, high := tails(column)
		may := max(tolerance.ProofShare*(high-low), proofLeast*math.Abs(centre[i]))
		if scale := p.Obs[i].Scale(); scale == readings.Square {
			may = max(may, scale.Moved(resolved[p.Obs[i].Quantity], centre[i]))
		}
		for k, values := range real {
			if !(math.Abs(column[far[k]]-values[i]) <= may) {
				return false
			}
		}
	}
	return true
}
