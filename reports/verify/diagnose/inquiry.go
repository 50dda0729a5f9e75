package diagnose

import (
	"context"
	"slices"

	"wedgework/optics/tolerance"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// settling bounds how often levels, and which parameters are free, are taken anew.
const settling = 3

// Case is what a diagnosis is made of: the readings, and the model that they are compared with.
type Case struct {
	Set        *readings.Set
	Model      model.Model
	Budget     uncertainty.Budget
	Tolerances map[string]tolerance.Tolerance // by parameter path
	Fit        []string                       // paths of the parameters to be fitted; empty: nothing is
}

// Findings is what explains the readings, before it is judged.
type Findings struct {
	Case
	Outlying readings.Outlying
	Terms    []readings.Term // of the budget, about the selected model
	Pulls    readings.Pulls  // that the selected model asks for
	Gross    []string
	found    *ranking // nil when there is no isolation reading
	full     *fitting.Fitter
}

// inquiry is a diagnosis on its way to its findings.
type inquiry struct {
	Case
	fitting.Linearization
	outlying readings.Outlying
	gross    []string
	found    *ranking // nil when there is no isolation reading
	full     *fitting.Fitter
}

// Explain looks for the cause, and for readings that have none.
func Explain(ctx context.Context, c Case) (*Findings, error) {
	x := &inquiry{Case: c, outlying: readings.Outlying{}}
	for _, i := range x.wild() {
		x.outlying[i] = 0
	}
	if float64(len(x.outlying)) > mostOutlying*float64(x.Set.Back) {
		x.outlying = readings.Outlying{}
	}
	for range rounds {
		x.found, x.Pulls = nil, nil
		if err := x.look(ctx); err != nil {
			return nil, err
		}
		if x.found == nil {
			return x.findings(), nil
		}
		if changed, err := x.flag(ctx); err != nil {
			return nil, err
		} else if !changed {
			break
		}
	}
	if err := x.suspect(ctx); err != nil {
		return nil, err
	}
	best := x.found.best().Model
	var err error
	if x.Pulls, err = x.full.Pulls(ctx, best); err != nil {
		return nil, err
	}
	// What a reading is uncertain by, outside the fit, is a fraction of the reading.
	x.Level = x.Set.Powers()
	if err := x.linearize(ctx, x.Set, best); err != nil {
		return nil, err
	}
	return x.findings(), nil
}

func (x *inquiry) findings() *Findings {
	return &Findings{Case: x.Case, Outlying: x.outlying, Terms: x.Terms, Pulls: x.Pulls, Gross: x.gross, found: x.found,
		full: x.full}
}

// look fits. What wavelength and temperature errors do to the leakage depends on where the
// null is. So a first look at few readings finds that; the freest explanation, which errs least about it,
// is fitted together with those errors; and then all explanations are fitted with one and the same
// covariance, taken about that point, so that their chi-squared compare.
func (x *inquiry) look(ctx context.Context) error {
	vs, err := x.named()
	if err != nil {
		return err
	}
	x.Level = x.Set.Powers()
	if x.Set.Back == 0 {
		return x.linearize(ctx, x.Set, x.Model)
	}
	if err := x.linearize(ctx, x.Set.Backward(), model.Coarse(x.Model)); err != nil {
		return err
	}
	thin, err := x.fitter(x.thin())
	if err != nil {
		return err
	}
	if thin.Count() <= len(vs) {
		vs = nil // fewer readings than questions: nothing can be fitted, and the report says so
	}
	if len(vs) > 0 {
		if x.found, err = compete(ctx, thin, thin, vs, x.Tolerances, nil); err != nil {
			return err
		}
		at := x.found.freest()
		for range settling {
			if at, err = x.settle(ctx, at); err != nil {
				return err
			}
			if err := x.explainAll(ctx, at.Model, vs); err != nil {
				return err
			}
			f := x.found.freest()
			if f.Label == at.Label {
				break
			}
			at = f // with all readings other parameters can be told apart than with few
		}
	} else if err := x.explainAll(ctx, x.Model, nil); err != nil {
		return err
	}
	return nil
}

// linearize takes the budget's terms about a model and the present pulls, for the observations of d: fits ask for the
// backward ones only.
func (x *inquiry) linearize(ctx context.Context, d *readings.Set, m model.Model) error {
	var err error
	if x.Terms, err = predict.Terms(ctx, d, x.Budget, m, x.Pulls, x.Level); err != nil {
		return err
	}
	more, err := x.unfitted(ctx, d, m)
	x.Terms = append(x.Terms, more...)
	return err
}

func (x *inquiry) fitter(indices []int) (*fitting.Fitter, error) {
	return fitting.NewFitter(x.Set, x.Model, x.Budget, x.Linearization, indices)
}

// all returns the indices of the backward observations but for outliers.
func (x *inquiry) all() []int {
	var all []int
	for i := range x.Set.Back {
		if !x.outlying.Has(i) {
			all = append(all, i)
		}
	}
	return all
}

// settle fits one explanation together with the shared errors of wavelength and temperature.
func (x *inquiry) settle(ctx context.Context, at *fitting.Hypothesis) (*fitting.Hypothesis, error) {
	if len(at.Free) == 0 {
		return at, nil
	}
	// Twice: the levels of which errors in dB are a fraction are those of the first fit.
	for range 2 {
		var err error
		if x.Level, err = predict.Levels(ctx, x.Set, x.Budget, at.Model, x.Pulls); err != nil {
			return nil, err
		}
		if err := x.linearize(ctx, x.Set.Backward(), model.Coarse(at.Model)); err != nil {
			return nil, err
		}
		if at, x.Pulls, err = fitting.FitWithErrors(ctx, x.Set, x.Model, x.Budget, x.Linearization, x.all(),
			at); err != nil {
			return nil, err
		}
	}
	return at, nil
}

// explainAll fits every explanation with the covariance taken about model m.
func (x *inquiry) explainAll(ctx context.Context, m model.Model, vs []*model.Variable) error {
	var err error
	if len(vs) > 0 {
		if x.Level, err = predict.Levels(ctx, x.Set, x.Budget, m, x.Pulls); err != nil {
			return err
		}
	}
	if err := x.linearize(ctx, x.Set.Backward(), model.Coarse(m)); err != nil {
		return err
	}
	thin, err := x.fitter(x.thin())
	if err != nil {
		return err
	}
	if x.full, err = x.fitter(x.all()); err != nil {
		return err
	}
	x.found, err = compete(ctx, thin, x.full, vs, x.Tolerances, x.found)
	return err
}

// named returns the parameters to be fitted, as specified.
func (c *Case) named() ([]*model.Variable, error) {
	var vs []*model.Variable
	for _, path := range c.Fit {
		v, err := model.VariableOf(c.Model, path)
		if err != nil {
			return nil, err
		}
		vs = append(vs, v)
	}
	return vs, nil
}

// thin picks at most coarse observations of each run, evenly.
func (x *inquiry) thin() []int {
	var picked []int
	for run := range x.Set.Runs {
		all := slices.DeleteFunc(x.Set.Sorted(run), x.outlying.Has)
		picked = append(picked, fitting.Few(all)...)
	}
	slices.Sort(picked)
	return picked
}
