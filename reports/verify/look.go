package verify

import (
	"context"
	"wedgework/reports/uncertainty"
)

// settling bounds how often levels, and which parameters are free, are taken anew.
const settling = 3

// Case is what a diagnosis is made of: the readings, and the model that they are compared with.
type Case struct {
	d          *data
	Model      Model
	Budget     uncertainty.Budget
	Tolerances map[string]Tolerance // by parameter path
	Fit        []string             // paths of the parameters to be fitted; empty: nothing is
}

// Findings is what explains the readings, before it is judged.
type Findings struct {
	Case
	outlying outlying
	terms    []term // of the budget, about the selected model
	pulls    pulls  // that the selected model asks for
	Gross    []string
	found    *ranking // nil when there is no isolation reading
	full     *fitter
}

// inquiry is a diagnosis on its way to its findings.
type inquiry struct {
	Case
	about
	outlying outlying
	gross    []string
	found    *ranking // nil when there is no isolation reading
	full     *fitter
}

// Explain looks for the cause, and for readings that have none.
func Explain(ctx context.Context, c Case) (*Findings, error) {
	x := &inquiry{Case: c, outlying: outlying{}}
	for _, i := range x.wild() {
		x.outlying[i] = 0
	}
	if float64(len(x.outlying)) > mostOutlying*float64(x.d.back) {
		x.outlying = outlying{}
	}
	for range rounds {
		x.found, x.pulls = nil, nil
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
	best := x.found.best().model
	var err error
	if x.pulls, err = x.full.pulls(ctx, best); err != nil {
		return nil, err
	}
	// What a reading is uncertain by, outside the fit, is a fraction of the reading.
	x.level = x.d.powers()
	if err := x.linearize(ctx, x.d, best); err != nil {
		return nil, err
	}
	return x.findings(), nil
}

func (x *inquiry) findings() *Findings {
	return &Findings{Case: x.Case, outlying: x.outlying, terms: x.terms, pulls: x.pulls, Gross: x.gross, found: x.found, full: x.full}
}

// look fits. What wavelength and temperature errors do to the leak depends on where the
// null is. So a first look at few readings finds that; the freest explanation, which errs least about it,
// is fitted together with those errors; and then all explanations are fitted with one and the same
// covariance, taken about that point, so that their chi-squared compare.
func (x *inquiry) look(ctx context.Context) error {
	vs, err := x.named()
	if err != nil {
		return err
	}
	x.level = x.d.powers()
	if x.d.back == 0 {
		return x.linearize(ctx, x.d, x.Model)
	}
	if err := x.linearize(ctx, x.d.backward(), coarsened(x.Model)); err != nil {
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
		if x.found, err = compete(ctx, thin, thin, vs, x.Tolerances, nil); err != nil {
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
	} else if err := x.explainAll(ctx, x.Model, nil); err != nil {
		return err
	}
	return nil
}

// linearize takes the budget's terms about a model and the present pulls, for the observations of d: fits ask for the
// backward ones only.
func (x *inquiry) linearize(ctx context.Context, d *data, m Model) error {
	var err error
	if x.terms, err = evaluateTerms(ctx, d, x.Budget, m, x.pulls, x.level); err != nil {
		return err
	}
	more, err := x.unfitted(ctx, d, m)
	x.terms = append(x.terms, more...)
	return err
}

func (x *inquiry) fitter(indices []int) (*fitter, error) {
	return newFitter(x.d, x.Model, x.Budget, x.about, indices)
}

// all returns the indices of the backward observations but for outliers.
func (x *inquiry) all() []int {
	var all []int
	for i := range x.d.back {
		if !x.outlying.has(i) {
			all = append(all, i)
		}
	}
	return all
}

// settle fits one explanation together with the shared errors of wavelength and temperature.
func (x *inquiry) settle(ctx context.Context, at *hypothesis) (*hypothesis, error) {
	if len(at.vs) == 0 {
		return at, nil
	}
	// Twice: the levels of which errors in dB are a fraction are those of the first fit.
	for range 2 {
		var err error
		if x.level, err = levels(ctx, x.d, x.Budget, at.model, x.pulls); err != nil {
			return nil, err
		}
		if err := x.linearize(ctx, x.d.backward(), coarsened(at.model)); err != nil {
			return nil, err
		}
		if at, x.pulls, err = x.together(ctx, at); err != nil {
			return nil, err
		}
	}
	return at, nil
}

// explainAll fits every explanation with the covariance taken about model m.
func (x *inquiry) explainAll(ctx context.Context, m Model, vs []*vary) error {
	var err error
	if len(vs) > 0 {
		if x.level, err = levels(ctx, x.d, x.Budget, m, x.pulls); err != nil {
			return err
		}
	}
	if err := x.linearize(ctx, x.d.backward(), coarsened(m)); err != nil {
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
func (c *Case) named() ([]*vary, error) {
	var vs []*vary
	for _, path := range c.Fit {
		v, err := varied(c.Model, path)
		if err != nil {
			return nil, err
		}
		vs = append(vs, v)
	}
	return vs, nil
}
