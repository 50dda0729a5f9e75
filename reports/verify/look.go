package verify

import (
	"context"
)

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
	return x.linearize(ctx, x.d, x.adopted())
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
	if x.d.back == 0 {
		return x.linearize(ctx, x.d, x.spec.Model)
	}
	if err := x.linearize(ctx, x.d.backward(), coarsened(x.spec.Model)); err != nil {
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

// linearize takes the budget's terms about a model and the present pulls, for the observations of d: fits ask for the
// backward ones only.
func (x *examiner) linearize(ctx context.Context, d *data, m Model) error {
	var err error
	if x.terms, err = d.terms(ctx, x.spec.Budget, m, x.pulls, x.level); err != nil {
		return err
	}
	more, err := x.unfitted(ctx, d, m)
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
func (x *examiner) explainAll(ctx context.Context, m Model, vs []*vary) error {
	var err error
	if len(vs) > 0 {
		if x.level, err = x.d.levels(ctx, x.spec.Budget, m, x.pulls); err != nil {
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
