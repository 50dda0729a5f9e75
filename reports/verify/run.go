package verify

import (
	"context"
	"fmt"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/uncertainty"
)

// examiner carries one verification.
type examiner struct {
	spec  Spec
	d     *data
	terms []term
	// own is the covariance of all observations' values from the measurement alone; the model's ghost
	// ripple is left out.
	own      *uncertainty.Covariance
	value    []float64 // of all observations
	censored []bool
	gross    []string
	outlying map[int]float64 // backward observations left out of the fit, and how far off they are

	found             *explanations // nil when there is no backward reading
	full              *fitter
	pulls             pulls     // where the fit linearizes; in the end those of the adopted explanation
	level             []float64 // leak powers of which errors in dB are a fraction
	best              []float64 // what the adopted model says of every observation
	bestTransmissions []Transmission
}

// Run verifies one unit. It ends early with the context's error when the context ends. Any other error
// says what of the specification cannot be used, and where.
func Run(ctx context.Context, spec Spec) (*Result, error) {
	spec, err := prepared(spec)
	if err != nil {
		return nil, err
	}
	x := &examiner{spec: spec, d: observe(spec.Readings, spec.Budget.Floor)}
	if len(x.d.obs) == 0 {
		return nil, fmt.Errorf("%s: neither isolation nor insertion loss was measured", spec.Readings.File)
	}
	if err := x.reachable(ctx); err != nil {
		return nil, err
	}
	if x.spec.Model, err = anchored(ctx, x.spec.Model, x.d.runs); err != nil {
		return nil, err
	}
	if err := x.explain(ctx); err != nil {
		return nil, err
	}
	x.weigh()
	p := x.d.plan(x.d.obs)
	if x.best, err = p.predict(ctx, x.adopted()); err != nil {
		return nil, err
	}
	if x.bestTransmissions, err = p.transmissions(ctx, x.adopted()); err != nil {
		return nil, err
	}
	return x.report(ctx, p)
}

// reachable reports the reading that the model cannot speak of, first and last wavelength of the file tried: a
// material is known over a range of wavelengths only.
func (x *examiner) reachable(ctx context.Context) error {
	rows := x.spec.Readings.Rows
	first, last := 0, 0
	for i, r := range rows {
		if r.Wavelength < rows[first].Wavelength {
			first = i
		}
		if r.Wavelength > rows[last].Wavelength {
			last = i
		}
	}
	for _, i := range []int{first, last} {
		r := rows[i]
		if _, err := x.spec.Model.Over(ctx, Backward, []quantity.Length{r.Wavelength}, r.Temperature); err != nil {
			return fmt.Errorf("line %d: %w", r.Line, err)
		}
	}
	return nil
}

// adopted returns the model of the adopted explanation.
func (x *examiner) adopted() Model {
	if x.found == nil {
		return x.spec.Model
	}
	return x.found.best().model
}

// settling bounds how often levels, and which parameters are free, are taken anew.
const settling = 3

// explain looks for the cause, and for readings that have none.
func (x *examiner) explain(ctx context.Context) error {
	x.outlying = map[int]float64{}
	for _, i := range x.wild() {
		x.outlying[i] = 0
	}
	if float64(len(x.outlying)) > outlying*float64(x.d.back) {
		x.outlying = map[int]float64{}
	}
	for range rounds {
		x.found, x.pulls = nil, nil
		if err := x.look(ctx); err != nil || x.found == nil {
			return err
		}
		if changed, err := x.flag(ctx); err != nil {
			return err
		} else if !changed {
			break
		}
	}
	if err := x.suspect(ctx); err != nil {
		return err
	}
	var err error
	if x.pulls, err = x.full.pulls(ctx, x.found.best().model); err != nil {
		return err
	}
	// What a reading is uncertain by, outside the fit, is a fraction of the reading.
	x.level = x.d.gross()
	return x.linearize(ctx, x.adopted())
}

// look fits. What wavelength and temperature errors do to the leak depends on where the
// null is. So a first look at few readings finds that; the freest explanation, which errs least about it,
// is fitted together with those errors; and then all explanations are fitted with one and the same
// covariance, taken about that point, so that their chi-squared compare.
func (x *examiner) look(ctx context.Context) error {
	vs, err := x.named()
	if err != nil {
		return err
	}
	x.level = x.d.gross()
	if err := x.linearize(ctx, x.spec.Model); err != nil || x.d.back == 0 {
		return err
	}
	thin, err := x.fitter(x.thin())
	if err != nil {
		return err
	}
	if thin.count() <= len(vs) {
		vs = nil // fewer readings than questions: nothing can be fitted, and the report says so
	}
	if len(vs) > 0 {
		if x.found, err = explain(ctx, thin, thin, vs, x.spec.Tolerances, nil); err != nil {
			return err
		}
		at := x.found.freest()
		for range settling {
			if at, err = x.settle(ctx, at); err != nil {
				return err
			}
			if err := x.explainAll(ctx, at.model, vs); err != nil {
				return err
			}
			f := x.found.freest()
			if f.Label == at.Label {
				break
			}
			at = f // with all readings other parameters can be told apart than with few
		}
	} else if err := x.explainAll(ctx, x.spec.Model, nil); err != nil {
		return err
	}
	return nil
}

// linearize takes the budget's terms about a model and the present pulls.
func (x *examiner) linearize(ctx context.Context, m Model) error {
	var err error
	if x.terms, err = x.d.terms(ctx, x.spec.Budget, m, x.pulls, x.level); err != nil {
		return err
	}
	more, err := x.unfitted(ctx, m)
	x.terms = append(x.terms, more...)
	return err
}

func (x *examiner) fitter(indices []int) (*fitter, error) {
	return x.d.newFitter(x.spec.Model, x.spec.Budget, x.terms, indices, x.pulls, x.level)
}

// all returns the indices of the backward observations but for outliers.
func (x *examiner) all() []int {
	var all []int
	for i := range x.d.back {
		if _, out := x.outlying[i]; !out {
			all = append(all, i)
		}
	}
	return all
}

// settle fits one explanation together with the shared errors of wavelength and temperature.
func (x *examiner) settle(ctx context.Context, at *explained) (*explained, error) {
	if len(at.vs) == 0 {
		return at, nil
	}
	// Twice: the levels of which errors in dB are a fraction are those of the first fit.
	for range 2 {
		var err error
		if x.level, err = x.d.levels(ctx, x.spec.Budget, at.model, x.pulls); err != nil {
			return nil, err
		}
		if err := x.linearize(ctx, at.model); err != nil {
			return nil, err
		}
		if at, x.pulls, err = x.together(ctx, at); err != nil {
			return nil, err
		}
	}
	return at, nil
}

// explainAll fits every explanation with the covariance taken about model m.
func (x *examiner) explainAll(ctx context.Context, m Model, vs []*vary) error {
	var err error
	if len(vs) > 0 {
		if x.level, err = x.d.levels(ctx, x.spec.Budget, m, x.pulls); err != nil {
			return err
		}
	}
	if err := x.linearize(ctx, m); err != nil {
		return err
	}
	thin, err := x.fitter(x.thin())
	if err != nil {
		return err
	}
	if x.full, err = x.fitter(x.all()); err != nil {
		return err
	}
	x.found, err = explain(ctx, thin, x.full, vs, x.spec.Tolerances, x.found)
	return err
}

// named returns the parameters to be fitted, as specified.
func (x *examiner) named() ([]*vary, error) {
	var vs []*vary
	for _, path := range x.spec.Fit {
		v, err := varied(x.spec.Model, path)
		if err != nil {
			return nil, err
		}
		vs = append(vs, v)
	}
	return vs, nil
}

// covariance is that of the values of all observations, what the model leaves open included.
func (x *examiner) covariance() *uncertainty.Covariance {
	all := make([]int, len(x.d.obs))
	for i := range all {
		all[i] = i
	}
	return x.d.covariance(x.terms, all, ones(len(all)))
}

// weigh fixes the covariance of the measurement and which readings only say "at least".
func (x *examiner) weigh() {
	n := len(x.d.obs)
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	x.own = x.d.covariance(without(x.terms, ofModel), all, ones(n))
	x.value, x.censored = make([]float64, n), make([]bool, n)
	for i, o := range x.d.obs {
		x.value[i] = o.value
		x.censored[i] = o.backward && o.value < censoring*x.own.Standard(i)
	}
}

// report draws up the result.
func (x *examiner) report(ctx context.Context, p *plan) (*Result, error) {
	d := x.d
	r := &Result{Unit: d.Unit, Lot: d.Lot, File: d.File, SHA256: d.SHA256, Meta: d.Meta, Polarization: d.Polarization,
		Compared: "isolation", LossCompared: "insertion_loss_max", Runs: d.runs, Floor: d.floor}
	if d.scrambled {
		r.Compared, r.LossCompared = "isolation_mean", "insertion_loss"
	}
	specified, err := tolerated(x.spec.Model, x.spec.Tolerances)
	if err != nil {
		return nil, err
	}
	diagnosed := &fan{centre: x.spec.Model}
	if x.fitted() {
		if diagnosed, err = x.found.best().fan(); err != nil {
			return nil, err
		}
	}
	s, err := p.spread(ctx, specified)
	if err != nil {
		return nil, fmt.Errorf("the model within its tolerances: %w", err)
	}
	g, err := p.spread(ctx, diagnosed)
	if err != nil {
		return nil, fmt.Errorf("the model as diagnosed: %w", err)
	}
	if err := x.points(ctx, r, s, g); err != nil {
		return nil, err
	}
	r.Outliers = x.listOutliers()
	if err := x.curves(ctx, r, specified, diagnosed); err != nil {
		return nil, err
	}
	all, every := x.declare(), x.covariance()
	for _, f := range all {
		x.compare(f, s, g, every)
		r.Figures = append(r.Figures, f.Figure)
	}
	r.Joint = x.joint(all, s)
	r.Decisions = make([]Decision, len(x.spec.Limits))
	budgets := make([]*FigureBudget, len(x.spec.Limits))
	err = each(len(x.spec.Limits), func(k int) error {
		r.Decisions[k], budgets[k] = x.decide(k, x.spec.Limits[k])
		return x.check(ctx, x.spec.Limits[k], &r.Decisions[k], budgets[k])
	})
	if err != nil {
		return nil, err
	}
	for _, b := range budgets {
		if b != nil {
			r.Budgets = append(r.Budgets, *b)
		}
	}
	r.Checks = x.quality()
	r.Agreement = agreement(r.Figures, r.Joint)
	r.Conformity = conformity(r.Decisions)
	r.Quality = quality(r.Checks)
	if err := x.diagnose(ctx, r); err != nil {
		return nil, err
	}
	if r.Agreement.Outcome == document.Fail && r.Diagnosis.Fitted && r.Diagnosis.Agreement == document.Pass {
		r.Agreement.Sentence += "; the readings agree with the model as diagnosed"
	}
	if err := x.pictures(ctx, r); err != nil {
		return nil, err
	}
	r.Cautions = slices.Clone(x.spec.Model.Cautions())
	for _, b := range r.Budgets {
		if w := b.warning(); w != "" {
			r.Cautions = append(r.Cautions, w)
		}
	}
	r.Notes = x.notes(r)
	return r, nil
}

// fitted reports whether the adopted explanation was fitted at all.
func (x *examiner) fitted() bool {
	return x.found != nil && len(x.spec.Fit) > 0 && len(x.found.list) > 1
}

// diagnose fills in the diagnosis.
func (x *examiner) diagnose(ctx context.Context, r *Result) error {
	g := &r.Diagnosis
	g.Scaled = 1
	switch {
	case x.found == nil:
		g.Sentence = "nothing can be diagnosed: no isolation was measured"
		return nil
	case len(x.spec.Fit) == 0:
		g.Note = "no parameter was named to be fitted"
	case !x.fitted():
		g.Note = fmt.Sprintf("%d readings cannot fix %d parameters: nothing was fitted", x.full.count(), len(x.spec.Fit))
	}
	g.Fitted = x.fitted()
	best := x.found.best()
	g.Best, g.Scaled = x.found.adopted, best.scaled()
	g.Agreement = document.Pass
	switch ratio := best.ChiSquared / float64(max(best.DOF, 1)); {
	case best.PValue < unlikely:
		g.Agreement = document.Fail
	case best.PValue > 1-unlikely:
		g.Note = fmt.Sprintf("the readings scatter less about the adopted model than the budget allows (chi-squared over degrees of freedom %.2f): a point-wise contribution is generous, or errors of neighbouring readings are alike", ratio)
	}
	for i := range x.found.list {
		e := &x.found.list[i]
		for j, v := range e.vs {
			e.Parameters = append(e.Parameters, v.fitted(e.solution.Parameters[j], e.sigma(j)))
		}
		g.Explanations = append(g.Explanations, e.Explanation)
	}
	if g.Gross = x.gross; len(g.Gross) > 0 {
		g.Causes = x.gross
		g.Pulls = x.listPulls()
		g.Sentence = blundersSentence(g.Gross)
		return nil
	}
	if g.Fitted {
		vs, err := x.named()
		if err != nil {
			return err
		}
		l, err := newLookalikes(ctx, x.full, best.model, x.spec.Tolerances, x.d.floor != nil)
		if err != nil {
			return err
		}
		if g.Departures, err = departures(ctx, x.found, vs, x.spec.Tolerances, l); err != nil {
			return err
		}
		if g.Agreement == document.Fail { // nothing is shown to be right by a fit that fails
			for i := range g.Departures {
				if g.Departures[i].Within == document.Pass {
					g.Departures[i].Within = document.Undecided
				}
			}
		}
		g.Causes = causes(g.Departures, best)
		if g.Correction, err = x.correct(ctx, g); err != nil {
			return err
		}
	}
	g.Pulls = x.listPulls()
	g.Sentence = g.sentence(r.Agreement.Outcome == document.Pass)
	return nil
}
