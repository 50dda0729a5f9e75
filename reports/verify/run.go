package verify

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/verify/compare"
	"wedgework/reports/verify/decide"
	"wedgework/reports/verify/diagnose"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/pictures"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/quality"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/words"
)

// Run verifies one unit. It ends early with the context's error when the context ends. Any other error
// says what of the specification cannot be used, and where; which file the readings are of is the caller's to say.
func Run(ctx context.Context, spec Spec) (*Result, error) {
	spec, d, err := sorted(ctx, spec)
	if err != nil {
		return nil, err
	}
	at := predict.NewBatch(d, d.Obs)
	f, tolerated, by, err := explained(ctx, spec, d, at)
	if err != nil {
		return nil, err
	}
	m := readings.NewMeasurement(d, spec.Budget, f.Terms, f.Outlying)
	r := &Result{Unit: d.Unit, Lot: d.Lot, Condition: d.Condition, File: d.File, SHA256: d.SHA256, Meta: d.Meta,
		Polarization: d.Polarization, Compared: "isolation", LossCompared: "insertion_loss_max", Runs: d.Runs, Floor: d.Floor, Outliers: m.Outliers(),
		Unused: d.NotUsed()}
	if d.Scrambled {
		r.Compared = "isolation_mean"
	}
	if d.MeanLoss {
		r.LossCompared = "insertion_loss"
	}
	e, err := evidence(ctx, spec, m, f, at)
	if err != nil {
		return nil, err
	}
	// None of these needs what another finds.
	if err := together(
		func() error { return r.compare(ctx, m, f, at, tolerated, &by) },
		func() error { return r.decide(ctx, e) },
		func() error { return r.judge(ctx, spec, f) },
	); err != nil {
		return nil, err
	}
	if r.Figures, r.Joint, err = e.KeyFigures(ctx, by, r.Decisions); err != nil {
		return nil, err
	}
	r.examine(spec, e, f)
	if err := r.draw(ctx, spec, m, f); err != nil {
		return nil, err
	}
	r.word(spec, m)
	return r, nil
}

// comparable are the readings without those along the axes of fibres where the design's fibres have none: they are listed
// as not used.
func comparable(ctx context.Context, spec Spec) (readings.Readings, error) {
	r := spec.Readings
	count := map[limits.Quantity]int{}
	for _, row := range r.Rows {
		for _, f := range row.Figures {
			if f.Quantity.ByAxes() {
				count[f.Quantity]++
			}
		}
	}
	if len(count) == 0 {
		return r, nil
	}
	axes, err := spec.Model.Axes(ctx, []quantity.Length{r.Rows[0].Wavelength}, r.Rows[0].Temperature)
	if err != nil || axes != nil {
		return r, err
	}
	r.Rows, r.Unused = slices.Clone(r.Rows), slices.Clone(r.Unused)
	for i := range r.Rows {
		r.Rows[i].Figures = slices.DeleteFunc(slices.Clone(r.Rows[i].Figures), func(f readings.Figure) bool {
			return f.Quantity.ByAxes()
		})
	}
	for _, q := range limits.Quantities {
		if n := count[q]; n > 0 {
			r.Unused = append(r.Unused, fmt.Sprintf("%d readings of %s, for the fibres of the design have no axes: give "+
				"its collimator axis=", n, q))
		}
	}
	return r, nil
}

// sorted checks a specification, sorts its readings out and prepares its model for them.
func sorted(ctx context.Context, spec Spec) (Spec, *readings.Set, error) {
	spec, err := prepared(spec)
	if err != nil {
		return spec, nil, err
	}
	if spec.Readings, err = comparable(ctx, spec); err != nil {
		return spec, nil, err
	}
	d := readings.NewSet(spec.Readings, spec.Budget)
	if len(d.Obs) == 0 {
		for _, q := range limits.Quantities {
			if why := d.Apart[q]; why != "" {
				return spec, nil, errors.New(why)
			}
		}
		return spec, nil, errors.New("the file has no reading of isolation, insertion loss, PDL, DGD, return loss or, of " +
			"polarization-maintaining parts, extinction ratio")
	}
	if err := reachable(ctx, spec); err != nil {
		return spec, nil, err
	}
	spec.Model, err = model.Anchor(ctx, spec.Model, d.Runs)
	return spec, d, err
}

// explained looks for what explains the readings, and works out beside it what the model says within its tolerances:
// that does not depend on what the readings say.
func explained(ctx context.Context, spec Spec, d *readings.Set, at *predict.Batch) (f *diagnose.Findings,
	tolerated *predict.Scatter, by predict.Models, err error) {
	err = together(
		func() (err error) {
			f, err = diagnose.Explain(ctx, spec.asked(d))
			return err
		},
		func() (err error) {
			if tolerated, err = predict.NewScatter(ctx, spec.Model, spec.Tolerances, at); err != nil {
				return err
			}
			if by.Specified, err = tolerated.Spread(ctx, at); err != nil {
				return fmt.Errorf("the model within its tolerances: %w", err)
			}
			return nil
		})
	return f, tolerated, by, err
}

// asked is what the specification asks a diagnosis of the sorted readings.
func (s Spec) asked(d *readings.Set) diagnose.Case {
	return diagnose.Case{Set: d, Model: s.Model, Budget: s.Budget, Tolerances: s.Tolerances, Fit: s.Fit}
}

// together does things that do not need each other, and returns the error of the first that has one.
func together(tasks ...func() error) error {
	return parallel.Each(len(tasks), func(k int) error { return tasks[k]() })
}

// evidence is what figures and limits are decided on.
func evidence(ctx context.Context, spec Spec, m *readings.Measurement, f *diagnose.Findings,
	at *predict.Batch) (*decide.Evidence, error) {
	best := decide.Best{Model: f.Selected(), Pulls: f.Pulls}
	var err error
	if best.Values, err = at.Predict(ctx, best.Model); err != nil {
		return nil, err
	}
	if best.Transmissions, err = at.Transmissions(ctx, best.Model); err != nil {
		return nil, err
	}
	return &decide.Evidence{Measurement: m, Best: best, Specified: spec.Model, Limits: spec.Limits, LossAt: spec.LossAt,
		Smooth: spec.Smooth, MaxGap: spec.MaxGap}, nil
}

// compare sets the readings beside both models.
func (r *Result) compare(ctx context.Context, m *readings.Measurement, f *diagnose.Findings, at *predict.Batch,
	tolerated *predict.Scatter, by *predict.Models) error {
	fan, err := f.Fan()
	if err != nil {
		return err
	}
	var fitted predict.Uncertain
	if fan != nil {
		fitted = fan
		if by.Fitted, err = fan.Spread(ctx, at); err != nil {
			return fmt.Errorf("the fitted model: %w", err)
		}
	}
	residuals, err := f.Residuals(ctx)
	if err != nil {
		return err
	}
	r.Points, r.Losses = compare.Points(m, *by, residuals), compare.Losses(m, by.Specified)
	for _, p := range r.Points {
		if p.Censored {
			r.Censored++
			if p.Bound {
				r.Bounds++
			}
		}
	}
	r.Curves, err = compare.Curves(ctx, m.Set, tolerated, fitted)
	return err
}

// decide fills in the decisions and the budgets of their figures.
func (r *Result) decide(ctx context.Context, e *decide.Evidence) error {
	decisions, budgets, err := e.Decisions(ctx)
	if err != nil {
		return err
	}
	r.Decisions = decisions
	for _, b := range budgets {
		if b != nil {
			r.Budgets = append(r.Budgets, *b)
		}
	}
	return nil
}

// judge fills in what the findings come to.
func (r *Result) judge(ctx context.Context, spec Spec, f *diagnose.Findings) error {
	g, err := f.Judge(ctx, spec.Limits, spec.LossAt)
	if err == nil {
		r.Diagnosis = *g
	}
	return err
}

// examine checks the quality of the data. What fails there may take back what limits have proved.
func (r *Result) examine(spec Spec, e *decide.Evidence, f *diagnose.Findings) {
	r.Checks = quality.Examine(&quality.Subject{Measurement: e.Measurement, Limits: spec.Limits, MaxGap: spec.MaxGap,
		Gross: f.Gross, Require: spec.Require, Expected: e.Best.Values, Sweeps: e.Scatter()})
	for _, c := range r.Checks {
		for i := range r.Decisions {
			r.Decisions[i].Question(c.Astray, c.Caveat)
		}
	}
}

// draw draws up the pictures of the findings.
func (r *Result) draw(ctx context.Context, spec Spec, m *readings.Measurement, f *diagnose.Findings) error {
	if !r.Diagnosis.Fitted || len(r.Diagnosis.Gross) > 0 {
		return nil
	}
	drawn, err := pictures.Draw(ctx, &pictures.Scene{Measurement: m, Limits: spec.Limits, Specified: spec.Model,
		Fitted: f.Selected(), Points: r.Points, Decisions: r.Decisions, Figures: r.Figures})
	r.Collapse, r.Valley, r.Ledgers = drawn.Collapse, drawn.Valley, drawn.Ledgers
	return err
}

// word says in sentences what was found.
func (r *Result) word(spec Spec, m *readings.Measurement) {
	r.Agreement = words.Agreement(r.Figures, r.Joint, &r.Diagnosis)
	r.Conformity = words.Conformity(r.Decisions)
	r.Quality = words.Quality(r.Checks)
	r.Diagnosis.Sentence = words.DiagnosisSentence(&r.Diagnosis, r.Agreement.Outcome == document.Pass)
	r.Cautions = slices.Clone(spec.Model.Cautions())
	for _, b := range r.Budgets {
		if w := words.Warning(&b); w != "" {
			r.Cautions = append(r.Cautions, w)
		}
	}
	r.Notes = words.Notes(m, r.Diagnosis.Fitted, len(spec.Tolerances) > 0, len(r.Decisions) > 0)
}

// reachable returns an error if the first or last wavelength of the file is outside the range of a material: a
// material is known over a range of wavelengths only.
func reachable(ctx context.Context, spec Spec) error {
	rows := spec.Readings.Rows
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
		if _, err := spec.Model.Over(ctx, model.Backward, []quantity.Length{r.Wavelength}, r.Temperature); err != nil {
			return fmt.Errorf("line %d: %w", r.Line, err)
		}
	}
	return nil
}
