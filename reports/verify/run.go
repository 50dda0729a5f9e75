package verify

import (
	"context"
	"fmt"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
)

// Run verifies one unit. It ends early with the context's error when the context ends. Any other error
// says what of the specification cannot be used, and where; which file the readings are of is the caller's to say.
func Run(ctx context.Context, spec Spec) (*Result, error) {
	spec, err := prepared(spec)
	if err != nil {
		return nil, err
	}
	d := observe(spec.Readings, spec.Budget.Floor)
	if len(d.obs) == 0 {
		return nil, fmt.Errorf("neither isolation nor insertion loss was measured")
	}
	if err := reachable(ctx, spec); err != nil {
		return nil, err
	}
	if spec.Model, err = anchored(ctx, spec.Model, d.runs); err != nil {
		return nil, err
	}
	// What the model says within its tolerances does not depend on what the readings say, and is worked out beside it.
	at := newBatch(d, d.obs)
	var f *Findings
	var tolerated *scatter
	var by Models
	tasks := []func() error{
		func() (err error) {
			f, err = Explain(ctx, Case{d, spec.Model, spec.Budget, spec.Tolerances, spec.Fit})
			return err
		},
		func() (err error) {
			if tolerated, err = scattered(ctx, spec.Model, spec.Tolerances, at); err != nil {
				return err
			}
			if by.specified, err = tolerated.spread(ctx, at); err != nil {
				return fmt.Errorf("the model within its tolerances: %w", err)
			}
			return nil
		},
	}
	if err := each(len(tasks), func(k int) error { return tasks[k]() }); err != nil {
		return nil, err
	}
	m := newMeasurement(d, spec.Budget, f.terms, f.outlying)
	r := &Result{Unit: d.Unit, Lot: d.Lot, File: d.File, SHA256: d.SHA256, Meta: d.Meta, Polarization: d.Polarization,
		Compared: "isolation", LossCompared: "insertion_loss_max", Runs: d.runs, Floor: d.floor, Outliers: m.Outliers()}
	if d.scrambled {
		r.Compared, r.LossCompared = "isolation_mean", "insertion_loss"
	}
	if err := r.compare(ctx, spec, m, f, at, tolerated, &by); err != nil {
		return nil, err
	}
	if err := r.decide(ctx, spec, m, f, at, by); err != nil {
		return nil, err
	}
	if err := r.explain(ctx, spec, m, f); err != nil {
		return nil, err
	}
	r.word(spec, m)
	return r, nil
}

// compare sets the readings beside both models.
func (r *Result) compare(ctx context.Context, spec Spec, m *measurement, f *Findings, at *batch, tolerated *scatter, by *Models) error {
	fan, err := f.Fan()
	if err != nil {
		return err
	}
	var fitted uncertain
	if fan != nil {
		fitted = fan
		if by.fitted, err = fan.spread(ctx, at); err != nil {
			return fmt.Errorf("the model as diagnosed: %w", err)
		}
	}
	residuals, err := f.Residuals(ctx)
	if err != nil {
		return err
	}
	r.Points, r.Losses = Points(m, *by, residuals), Losses(m, by.specified)
	for _, p := range r.Points {
		if p.Censored {
			r.Censored++
			if p.Bound {
				r.Bounds++
			}
		}
	}
	r.Curves, err = Curves(ctx, m.data, tolerated, fitted)
	return err
}

// decide fills in the key figures, the decisions and the quality of the data.
func (r *Result) decide(ctx context.Context, spec Spec, m *measurement, f *Findings, at *batch, by Models) error {
	best := Best{Model: f.Selected(), Pulls: f.pulls}
	var err error
	if best.Values, err = at.predict(ctx, best.Model); err != nil {
		return err
	}
	if best.Transmissions, err = at.transmissions(ctx, best.Model); err != nil {
		return err
	}
	e := &Evidence{m, best, spec.Limits, spec.LossAt, spec.Smooth, spec.MaxGap}
	r.Figures, r.Joint = e.KeyFigures(by)
	var budgets []*FigureBudget
	if r.Decisions, budgets, err = e.Decisions(ctx); err != nil {
		return err
	}
	for _, b := range budgets {
		if b != nil {
			r.Budgets = append(r.Budgets, *b)
		}
	}
	r.Checks = Examine(&Subject{m, spec.Limits, spec.MaxGap, f.Gross})
	return nil
}

// explain judges the findings, and draws up the pictures of them.
func (r *Result) explain(ctx context.Context, spec Spec, m *measurement, f *Findings) error {
	g, err := f.Judge(ctx, spec.Limits, spec.LossAt)
	if err != nil {
		return err
	}
	r.Diagnosis = *g
	if !g.Fitted || len(g.Gross) > 0 {
		return nil
	}
	drawn, err := Draw(ctx, &Scene{m, spec.Limits, spec.Model, f.Selected(), r.Points, r.Decisions, r.Figures})
	r.Collapse, r.Valley, r.Ledgers = drawn.Collapse, drawn.Valley, drawn.Ledgers
	return err
}

// word says in sentences what was found.
func (r *Result) word(spec Spec, m *measurement) {
	r.Agreement = Agreement(r.Figures, r.Joint, &r.Diagnosis)
	r.Conformity = Conformity(r.Decisions)
	r.Quality = Quality(r.Checks)
	r.Diagnosis.Sentence = DiagnosisSentence(&r.Diagnosis, r.Agreement.Outcome == document.Pass)
	r.Cautions = slices.Clone(spec.Model.Cautions())
	for _, b := range r.Budgets {
		if w := Warning(&b); w != "" {
			r.Cautions = append(r.Cautions, w)
		}
	}
	r.Notes = Notes(m, r.Diagnosis.Fitted, len(spec.Tolerances) > 0, len(r.Decisions) > 0)
}

// reachable reports the reading that the model cannot speak of, first and last wavelength of the file tried: a
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
		if _, err := spec.Model.Over(ctx, Backward, []quantity.Length{r.Wavelength}, r.Temperature); err != nil {
			return fmt.Errorf("line %d: %w", r.Line, err)
		}
	}
	return nil
}
