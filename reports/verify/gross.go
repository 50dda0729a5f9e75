package verify

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"
)

const (
	// decisive is the fall of AICc beyond which the worse explanation has essentially no support (Burnham and Anderson,
	// 2002, section 2.6): what a gross error must win by before a unit is accused of it.
	decisive = 10
	// alike is the difference of AICc within which two gross errors cannot be told apart. A choice, twice decisive: they
	// may differ by nothing but what shared errors of wavelength and temperature do, which act along straight
	// slopes here, and to send somebody after the wrong one costs more than to name both.
	alike = 20
	// grossly is how much of the misfit a gross error must account for that does not fit within the budget itself; disbelieved
	// is the p-value under which that is said of it. What is decided by AICc already needs no closer fit than that: at unlikely
	// one true gross error in a hundred would not be named, here it is one in ten thousand.
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
	if best.PValue < unlikely {
		return true
	}
	for j, v := range best.vs {
		if v.angle && math.Abs(best.solution.Parameters[j]-v.at) > plausible/2 {
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
	vs := x.found.freest().vs
	named, err := x.named()
	if err != nil {
		return err
	}
	ordinary, err := x.onAll(ctx, x.Model, vs, x.found.freest())
	if err != nil {
		return err
	}
	ordinary.Label = x.found.freest().Label
	var tries []Blunder // of one model each
	all := blunders(x.Model)
	rival, err := x.rival(ctx, ordinary, all)
	if err != nil {
		return err
	}
	for _, b := range all {
		for _, m := range b.Models {
			tries = append(tries, Blunder{b.Name, []Model{m}, b.Frees, b.Instead})
		}
	}
	tried := make([]*hypothesis, len(tries))
	err = each(len(tries), func(i int) error {
		var err error
		if tried[i], err = x.blundered(ctx, tries[i], named); err != nil && ctx.Err() == nil {
			return nil // a model that cannot be evaluated explains nothing
		}
		return err
	})
	if err != nil {
		return err
	}
	byName := map[string]*hypothesis{}
	var names []string
	for i, e := range tried {
		if e == nil {
			continue
		}
		wider, err := e.f.wider(ordinary.f)
		if err != nil {
			return err
		}
		e.AICc += wider
		if b := byName[tries[i].Name]; b == nil {
			names = append(names, tries[i].Name)
			byName[tries[i].Name] = e
		} else if e.AICc < b.AICc {
			*b = *e
		}
	}
	if len(names) == 0 {
		return nil
	}
	slices.SortStableFunc(names, func(a, b string) int { return cmp.Compare(byName[a].AICc, byName[b].AICc) })
	best := byName[names[0]]
	accounted := best.PValue >= disbelieved || rival.ChiSquared-best.ChiSquared >= grossly*(rival.ChiSquared-float64(rival.DOF))
	if best.AICc > rival.AICc-decisive || !accounted {
		return nil
	}
	found := &ranking{together: -1, list: []hypothesis{}}
	for _, name := range names {
		e := byName[name]
		e.Label, e.Gross = name, true
		if e.Delta = e.AICc - best.AICc; e.Delta < alike {
			x.gross = append(x.gross, name)
		}
		found.list = append(found.list, *e)
	}
	ordinary.Delta = ordinary.AICc - best.AICc
	found.list = append(found.list, *ordinary)
	slices.SortStableFunc(found.list, func(a, b hypothesis) int { return cmp.Compare(a.AICc, b.AICc) })
	x.found, x.full = found, best.f
	return nil
}

// rival returns the ordinary explanation that a gross error must beat: the best that the named parameters give, or one in
// which what a gross error stands in for is free as well. A film that is a little short reads as one that is not quite
// saturated, and whoever did not ask about its angle is not to be sent after the magnet.
func (x *inquiry) rival(ctx context.Context, ordinary *hypothesis, all []Blunder) (*hypothesis, error) {
	best := ordinary
	for _, b := range all {
		if b.Instead == "" || slices.ContainsFunc(ordinary.vs, func(v *vary) bool { return v.path == b.Instead }) {
			continue
		}
		v, err := varied(x.Model, b.Instead)
		if err != nil {
			return nil, err
		}
		e, err := x.onAll(ctx, x.Model, append(slices.Clone(ordinary.vs), v), nil)
		if err != nil {
			return nil, err
		}
		if e.AICc < best.AICc {
			best = e
		}
	}
	return best, nil
}

// wider returns by how much twice the negative log-likelihood goes up because this fitter takes the readings to be more
// uncertain than another does: what an error in dB is in amplitude depends on the leak that a model expects, and the
// covariance is no longer one and the same, as it is for ordinary explanations. Readings that either takes for censored are
// left out of it.
func (f *fitter) wider(other *fitter) (float64, error) {
	mine, theirs := f.indices[:f.free], other.indices[:other.free]
	if !slices.Equal(mine, theirs) {
		var both []int
		for _, i := range mine {
			if slices.Contains(theirs, i) {
				both = append(both, i)
			}
		}
		var err error
		if f, err = f.on(both); err == nil {
			other, err = other.on(both)
		}
		if err != nil {
			return 0, err
		}
	}
	return f.white.LogDet() - other.white.LogDet(), nil
}

// blundered fits the parameters under a gross error; nil where the readings are nothing like it.
func (x *inquiry) blundered(ctx context.Context, b Blunder, vs []*vary) (*hypothesis, error) {
	m, err := anchored(ctx, b.Models[0], x.d.runs)
	if err != nil {
		return nil, err
	}
	if near, err := x.near(ctx, m); err != nil || !near {
		return nil, err
	}
	var own []*vary
	for _, v := range vs {
		if v.path != b.Instead {
			own = append(own, v)
		}
	}
	if b.Frees != "" {
		v, err := varied(m, b.Frees)
		if err != nil {
			return nil, err
		}
		own = append([]*vary{v}, own...)
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
		e.AICc = aicc(e.deviance, e.f.count(), len(own)+1)
	}
	return e, err
}

// near reports whether most readings of either direction are somewhere near the model.
func (x *inquiry) near(ctx context.Context, m Model) (bool, error) {
	var off [2][]float64
	var obs []observation
	for _, i := range append(x.thin(), x.thinAhead()...) {
		obs = append(obs, x.d.obs[i])
	}
	p, err := newBatch(x.d, obs).predict(ctx, m)
	if err != nil {
		return false, err
	}
	for i, o := range obs {
		y, _ := o.amplitude(o.value)
		says, _ := o.amplitude(p[i])
		k := 0
		if o.backward() {
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
func (x *inquiry) onAll(ctx context.Context, m Model, vs []*vary, from *hypothesis) (*hypothesis, error) {
	thin, err := x.both(ctx, m, m, append(x.thin(), x.thinAhead()...))
	if err != nil {
		return nil, err
	}
	start := make([]float64, len(vs))
	for j, v := range vs {
		start[j] = v.at
	}
	at := m
	switch {
	case len(vs) == 0:
	case from != nil:
		if start, at = from.solution.Parameters, from.model; len(from.vs) != len(vs) {
			return nil, errors.New("another explanation was asked for")
		}
	default:
		s, err := search(ctx, thin, thin, vs)
		if err != nil {
			return nil, err
		}
		start = s.Parameters
		if at, err = adjusted(m, vs, start); err != nil {
			return nil, err
		}
	}
	full, err := x.both(ctx, m, at, x.everything())
	if err != nil {
		return nil, err
	}
	e := &hypothesis{vs: vs, f: full, model: at}
	if len(vs) == 0 {
		chi, err := full.chiSquared(ctx, m)
		if err != nil {
			return nil, err
		}
		return e, e.fill(ctx, chi, full.count(), true)
	}
	if e.solution, err = full.solve(ctx, vs, start, precisely); err != nil {
		return nil, err
	}
	if e.model, err = adjusted(m, vs, e.solution.Parameters); err != nil {
		return nil, err
	}
	e.Correlation = e.solution.Correlation
	return e, e.fill(ctx, e.solution.ChiSquared, e.solution.DOF, e.solution.Iterations < patience)
}

// both is a fitter of a model, with the covariance taken about another.
func (x *inquiry) both(ctx context.Context, m, near Model, indices []int) (*fitter, error) {
	level, err := levels(ctx, x.d, x.Budget, near, nil)
	if err != nil {
		return nil, err
	}
	terms, err := evaluateTerms(ctx, x.d, x.Budget, near, nil, level)
	if err != nil {
		return nil, err
	}
	more, err := x.unfitted(ctx, x.d, near)
	if err != nil {
		return nil, err
	}
	return newFitter(x.d, m, x.Budget, about{append(terms, more...), nil, level}, indices)
}

// everything lists the observations of both directions but for outliers.
func (x *inquiry) everything() []int {
	all := x.all()
	for i := x.d.back; i < len(x.d.obs); i++ {
		all = append(all, i)
	}
	return all
}

// thinAhead is thin for the forward observations.
func (x *inquiry) thinAhead() []int {
	byRun := make([][]int, len(x.d.runs))
	for i := x.d.back; i < len(x.d.obs); i++ {
		byRun[x.d.obs[i].run] = append(byRun[x.d.obs[i].run], i)
	}
	var picked []int
	for _, all := range byRun {
		picked = append(picked, few(all)...)
	}
	return picked
}
