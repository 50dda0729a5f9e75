package diagnose

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"wedgework/optics/parallel"
	"wedgework/reports/limits"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

const (
	// decisive is the fall of AICc beyond which the worse explanation has essentially no support (Burnham and Anderson,
	// 2002, section 2.6): what a gross error must win by before a unit is accused of it.
	decisive = 10
	// alike is the difference of AICc within which two gross errors cannot be told apart. A choice, twice decisive:
	// they may differ by nothing but what shared errors of wavelength and temperature do, which act along straight
	// slopes here, and to send somebody after the wrong one costs more than to name both.
	alike = 20
	// grossly is how much of the misfit a gross error must account for that does not fit within the budget itself;
	// disbelieved is the p-value under which that is said of it. What is decided by AICc already needs no closer fit
	// than that: at unlikely one true gross error in a hundred would not be named, here it is one in ten thousand.
	grossly     = 0.9
	disbelieved = 1e-4
	// another is the difference of amplitude at which a gross error is not even tried: half the readings of one
	// direction lie that far from it, where a departure of some degrees moves them by a tenth at most.
	another = 0.2
)

// suspicious reports whether the ordinary explanations leave room for a gross error: none fits, or the best asks for
// a departure that few parts have unnoticed: a film of nine tenths of its saturation looks like one 2 deg short.
func (x *inquiry) suspicious() bool {
	best := x.found.best()
	if best.PValue < fitting.Unlikely {
		return true
	}
	for j, v := range best.Free {
		if v.Angle && math.Abs(best.Solution.Parameters[j]-v.At) > plausible/2 {
			return true
		}
	}
	return false
}

// suspect tries gross errors on a unit that gives reason to. They show forward as well as backward, so that for
// once both kinds of readings are fitted, by the best ordinary explanation too.
func (x *inquiry) suspect(ctx context.Context) error {
	if x.found == nil || len(x.Fit) == 0 || !x.suspicious() {
		return nil
	}
	vs := x.found.freest().Free
	named, err := x.named()
	if err != nil {
		return err
	}
	ordinary, err := x.onAll(ctx, x.Model, vs, x.found.freest())
	if err != nil {
		return err
	}
	ordinary.Label = x.found.freest().Label
	all := append(model.Blunders(x.Model), model.Misreadings(x.Model, x.Set.Runs, x.Fit)...)
	rival, err := x.rival(ctx, ordinary, all)
	if err != nil {
		return err
	}
	tried, err := x.tryBlunders(ctx, all, named, ordinary)
	if err != nil || len(tried) == 0 {
		return err
	}
	best := tried[0]
	accounted := best.PValue >= disbelieved ||
		rival.ChiSquared-best.ChiSquared >= grossly*(rival.ChiSquared-float64(rival.DOF))
	if best.AICc > rival.AICc-decisive || !accounted {
		return nil
	}
	found := &ranking{together: -1, list: []fitting.Hypothesis{}}
	for _, e := range tried {
		e.Gross = true
		if e.Delta = e.AICc - best.AICc; e.Delta < alike {
			x.gross = append(x.gross, e.Label)
		}
		found.list = append(found.list, *e)
	}
	ordinary.Delta = ordinary.AICc - best.AICc
	found.list = append(found.list, *ordinary)
	slices.SortStableFunc(found.list, func(a, b fitting.Hypothesis) int { return cmp.Compare(a.AICc, b.AICc) })
	x.found, x.full = found, best.Fitter
	return nil
}

// tryBlunders fits the parameters under every gross error, and returns for each the best of its models, in the order of
// AICc, which is made to compare with that of the ordinary explanation.
func (x *inquiry) tryBlunders(ctx context.Context, all []model.Blunder, named []*model.Variable,
	ordinary *fitting.Hypothesis) ([]*fitting.Hypothesis, error) {
	var tries []model.Blunder // of one model each
	for _, b := range all {
		for _, m := range b.Models {
			tries = append(tries, model.Blunder{Name: b.Name, Models: []model.Model{m}, Frees: b.Frees,
				Instead: b.Instead})
		}
	}
	tried := make([]*fitting.Hypothesis, len(tries))
	err := parallel.Each(len(tries), func(i int) error {
		var err error
		if tried[i], err = x.blundered(ctx, tries[i], named); err != nil && ctx.Err() == nil {
			return nil // a model that cannot be evaluated explains nothing
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	var best []*fitting.Hypothesis
	for i, e := range tried {
		if e == nil {
			continue
		}
		wider, err := e.Fitter.Wider(ordinary.Fitter)
		if err != nil {
			return nil, err
		}
		e.AICc += wider
		e.Label = tries[i].Name
		k := slices.IndexFunc(best, func(b *fitting.Hypothesis) bool { return b.Label == e.Label })
		if k < 0 {
			best = append(best, e)
		} else if e.AICc < best[k].AICc {
			best[k] = e
		}
	}
	slices.SortStableFunc(best, func(a, b *fitting.Hypothesis) int { return cmp.Compare(a.AICc, b.AICc) })
	return best, nil
}

// rival returns the ordinary explanation that a gross error must beat: the best that the named parameters give, or one
// in which what a gross error stands in for is free as well. A film that is a little short reads as one that is not
// quite saturated, and whoever did not ask about its angle is not to be sent after the magnet.
func (x *inquiry) rival(ctx context.Context, ordinary *fitting.Hypothesis,
	all []model.Blunder) (*fitting.Hypothesis, error) {
	best := ordinary
	for _, b := range all {
		if b.Instead == "" || slices.ContainsFunc(ordinary.Free,
			func(v *model.Variable) bool { return v.Path == b.Instead }) {
			continue
		}
		v, err := model.VariableOf(x.Model, b.Instead)
		if err != nil {
			return nil, err
		}
		e, err := x.onAll(ctx, x.Model, append(slices.Clone(ordinary.Free), v), nil)
		if err != nil {
			return nil, err
		}
		if e.AICc < best.AICc {
			best = e
		}
	}
	return best, nil
}

// blundered fits the parameters under a gross error; nil where the readings are nothing like it.
func (x *inquiry) blundered(ctx context.Context, b model.Blunder, vs []*model.Variable) (*fitting.Hypothesis, error) {
	m, err := model.Anchor(ctx, b.Models[0], x.Set.Runs)
	if err != nil {
		return nil, err
	}
	if near, err := x.near(ctx, m); err != nil || !near {
		return nil, err
	}
	var own []*model.Variable
	for _, v := range vs {
		if v.Path != b.Instead {
			own = append(own, v)
		}
	}
	if b.Frees != "" {
		v, err := model.VariableOf(m, b.Frees)
		if err != nil {
			return nil, err
		}
		own = append([]*model.Variable{v}, own...)
	}
	thin, err := x.both(ctx, m, m, append(x.thin(), x.thinAhead()...))
	if err != nil {
		return nil, err
	}
	if own, _, err = apart(ctx, thin, m, own); err != nil {
		return nil, err
	}
	e, err := x.onAll(ctx, m, own, nil)
	if err == nil {
		// Which error it was has been chosen as well: one more than the parameters.
		e.AICc = fitting.Aicc(e.Deviance, e.Fitter.Count(), len(own)+1)
	}
	return e, err
}

// near reports whether most readings of either direction are somewhere near the model.
func (x *inquiry) near(ctx context.Context, m model.Model) (bool, error) {
	var off [2][]float64
	var obs []readings.Observation
	for _, i := range append(x.thin(), x.thinAhead()...) {
		obs = append(obs, x.Set.Obs[i])
	}
	p, err := predict.NewBatch(x.Set, obs).Predict(ctx, m)
	if err != nil {
		return false, err
	}
	for i, o := range obs {
		y, _ := o.Amplitude(o.Value)
		says, _ := o.Amplitude(p[i])
		k := 0
		if o.Backward() {
			k = 1
		}
		off[k] = append(off[k], math.Abs(y-says))
	}
	for _, d := range off {
		slices.Sort(d)
		if len(d) > 0 && d[len(d)/2] > another {
			return false, nil
		}
	}
	return true, nil
}

// onAll fits a model to the readings of both directions: to few of them first, and then to all with the covariance
// taken where that ended.
func (x *inquiry) onAll(ctx context.Context, m model.Model, vs []*model.Variable,
	from *fitting.Hypothesis) (*fitting.Hypothesis, error) {
	thin, err := x.both(ctx, m, m, append(x.thin(), x.thinAhead()...))
	if err != nil {
		return nil, err
	}
	start := make([]float64, len(vs))
	for j, v := range vs {
		start[j] = v.At
	}
	at := m
	switch {
	case len(vs) == 0:
	case from != nil:
		if start, at = from.Solution.Parameters, from.Model; len(from.Free) != len(vs) {
			return nil, errors.New("another explanation was asked for")
		}
	default:
		s, err := fitting.Search(ctx, thin, thin, vs)
		if err != nil {
			return nil, err
		}
		start = s.Parameters
		if at, err = model.Adjust(m, vs, start); err != nil {
			return nil, err
		}
	}
	full, err := x.both(ctx, m, at, x.everything())
	if err != nil {
		return nil, err
	}
	e := &fitting.Hypothesis{Free: vs, Fitter: full, Model: at}
	if len(vs) == 0 {
		chi, err := full.ChiSquared(ctx, m)
		if err != nil {
			return nil, err
		}
		return e, e.Fill(ctx, chi, full.Count(), true)
	}
	if e.Solution, err = full.Solve(ctx, vs, start, fitting.Precisely); err != nil {
		return nil, err
	}
	if e.Model, err = model.Adjust(m, vs, e.Solution.Parameters); err != nil {
		return nil, err
	}
	e.Correlation = e.Solution.Correlation
	return e, e.Fill(ctx, e.Solution.ChiSquared, e.Solution.DOF, e.Solution.Iterations < fitting.Patience)
}

// both is a fitter of a model, with the covariance taken about another.
func (x *inquiry) both(ctx context.Context, m, near model.Model, indices []int) (*fitting.Fitter, error) {
	level, err := predict.Levels(ctx, x.Set, x.Budget, near, nil)
	if err != nil {
		return nil, err
	}
	terms, err := predict.Terms(ctx, x.Set, x.Budget, near, nil, level)
	if err != nil {
		return nil, err
	}
	more, err := x.unfitted(ctx, x.Set, near)
	if err != nil {
		return nil, err
	}
	return fitting.NewFitter(x.Set, m, x.Budget, fitting.Linearization{Terms: append(terms, more...), Level: level},
		indices)
}

// everything lists the isolations and the losses but for outliers.
func (x *inquiry) everything() []int {
	all := x.all()
	for i, o := range x.Set.Obs {
		if o.Quantity == limits.InsertionLoss {
			all = append(all, i)
		}
	}
	return all
}

// thinAhead is thin for the losses.
func (x *inquiry) thinAhead() []int {
	var picked []int
	for run := range x.Set.Runs {
		picked = append(picked, fitting.Few(x.Set.Of(run, limits.InsertionLoss))...)
	}
	return picked
}
