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
	censored []bool    // bounds of the file, and net power that drowns
	gross    []string
	outlying map[int]float64 // backward observations left out of the fit, and how far off they are

	scatter   *scatter // the model within its tolerances
	specified *spread  // and what it says of all observations

	found             *explanations // nil when there is no backward reading
	full              *fitter
	pulls             pulls     // where the fit linearizes; in the end those of the adopted explanation
	level             []float64 // leak powers of which errors in dB are a fraction
	best              []float64 // what the adopted model says of every observation
	bestTransmissions []Transmission
}

// Run verifies one unit. It ends early with the context's error when the context ends. Any other error
// says what of the specification cannot be used, and where; which file the readings are of is the caller's to say.
func Run(ctx context.Context, spec Spec) (*Result, error) {
	spec, err := prepared(spec)
	if err != nil {
		return nil, err
	}
	x := &examiner{spec: spec, d: observe(spec.Readings, spec.Budget.Floor)}
	if len(x.d.obs) == 0 {
		return nil, fmt.Errorf("neither isolation nor insertion loss was measured")
	}
	if err := x.reachable(ctx); err != nil {
		return nil, err
	}
	if x.spec.Model, err = anchored(ctx, x.spec.Model, x.d.runs); err != nil {
		return nil, err
	}
	// What the model says within its tolerances does not depend on what the readings say, and is worked out beside it.
	p := x.d.plan(x.d.obs)
	tasks := []func(context.Context) error{x.explain, func(ctx context.Context) error { return x.specify(ctx, p) }}
	if err := each(len(tasks), func(k int) error { return tasks[k](ctx) }); err != nil {
		return nil, err
	}
	x.weigh()
	if x.best, err = p.predict(ctx, x.adopted()); err != nil {
		return nil, err
	}
	if x.bestTransmissions, err = p.transmissions(ctx, x.adopted()); err != nil {
		return nil, err
	}
	return x.report(ctx, p)
}

// specify draws units within the tolerances.
func (x *examiner) specify(ctx context.Context, p *plan) (err error) {
	if x.scatter, err = scattered(ctx, x.spec.Model, x.spec.Tolerances, p); err != nil {
		return err
	}
	if x.specified, err = x.scatter.spread(ctx, p); err != nil {
		return fmt.Errorf("the model within its tolerances: %w", err)
	}
	return nil
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
		_, x.censored[i] = o.threshold(x.own.Standard(i))
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
	var err error
	diagnosed := &fan{centre: x.spec.Model}
	if x.fitted() {
		if diagnosed, err = x.found.best().fan(); err != nil {
			return nil, err
		}
	}
	s := x.specified
	g, err := diagnosed.spread(ctx, p)
	if err != nil {
		return nil, fmt.Errorf("the model as diagnosed: %w", err)
	}
	if err := x.points(ctx, r, s, g); err != nil {
		return nil, err
	}
	r.Outliers = x.listOutliers()
	if err := x.curves(ctx, r, x.scatter, diagnosed); err != nil {
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
