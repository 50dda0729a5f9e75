package diagnose

import (
	"context"
	"fmt"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// Selected returns the model of the selected explanation.
func (f *Findings) Selected() model.Model {
	if f.found == nil {
		return f.Model
	}
	return f.found.best().Model
}

// Fitted reports whether the selected explanation was fitted at all.
func (f *Findings) Fitted() bool { return f.found != nil && len(f.Fit) > 0 && len(f.found.list) > 1 }

// Fan is the selected model with what its fit leaves open; nil when nothing was fitted.
func (f *Findings) Fan() (*predict.Fan, error) {
	if !f.Fitted() {
		return nil, nil
	}
	return f.found.best().Fan()
}

// Judge says what the findings mean: which parameters depart from what was specified, what else would give the same
// readings, and which turn of an element would mend it, given the limits and the wavelength of the insertion loss.
func (f *Findings) Judge(ctx context.Context, l limits.Limits, lossAt quantity.Length) (*Diagnosis, error) {
	g := &Diagnosis{Scaled: 1}
	switch {
	case f.found == nil:
		return g, nil
	case len(f.Fit) == 0:
		g.Note = "fit= names no parameter"
	case !f.Fitted():
		g.Note = fmt.Sprintf("%d readings cannot determine %d parameters: nothing was fitted", f.full.Count(),
			len(f.Fit))
	}
	g.Fitted = f.Fitted()
	best := f.found.best()
	g.Best, g.Scaled = f.found.selected, best.Scaled()
	g.Agreement = document.Pass
	switch ratio := best.ChiSquared / float64(max(best.DOF, 1)); {
	case best.PValue < fitting.Unlikely:
		g.Agreement = document.Fail
	case best.DOF > 0 && best.PValue > 1-fitting.Unlikely:
		g.Note = fmt.Sprintf("the scatter about the fitted model is smaller than the budget predicts (chi-squared "+
			"per degree of freedom %.2f): a contribution for single readings is overestimated, or errors of "+
			"neighbouring readings are correlated", ratio)
	}
	for i := range f.found.list {
		e := &f.found.list[i]
		one := e.Explanation
		for j, v := range e.Free {
			one.Parameters = append(one.Parameters, fitting.Estimate(v, e.Solution.Parameters[j], e.Sigma(j)))
		}
		g.Explanations = append(g.Explanations, one)
	}
	g.Pulls = f.listPulls()
	if g.Gross = f.Gross; len(g.Gross) > 0 {
		g.Causes = f.Gross
		return g, nil
	}
	if !g.Fitted {
		return g, nil
	}
	if err := f.departures(ctx, g); err != nil {
		return nil, err
	}
	var err error
	g.Correction, err = correct(ctx, g, best.Model, remedy{limits: l, lossAt: lossAt, runs: f.Set.Runs})
	return g, err
}

// departures judges the parameters, and names those that are the cause.
func (f *Findings) departures(ctx context.Context, g *Diagnosis) error {
	vs, err := f.named()
	if err != nil {
		return err
	}
	best := f.found.best()
	l, err := newLookalikes(ctx, f.full, best.Model, f.Tolerances, f.Set)
	if err != nil {
		return err
	}
	if g.Departures, err = judgeAll(ctx, f.found, vs, f.Tolerances, l); err != nil {
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
	return nil
}

// Residuals compares readings with the selected explanation with the errors that they share put on its curve:
// those have been estimated from the same readings, and laid on each of them as an uncertainty of its own they
// would hide what is left. ISO 13528 asks that the two compared be independent; a reading that took part in the fit
// is not, so that the difference has less variance than both together. They are by observation; nil when nothing was
// fitted.
func (f *Findings) Residuals(ctx context.Context) (map[int]fitting.Residual, error) {
	if !f.Fitted() {
		return nil, nil
	}
	best := f.found.best()
	a, err := best.Alone(ctx)
	if err != nil {
		return nil, err
	}
	all := map[int]fitting.Residual{}
	for k, i := range best.Fitter.Indices[:best.Fitter.Numbers] {
		all[i] = fitting.Residual{Left: a.Left[k], Standard: a.Standard[k], Curve: a.Curve[k]}
	}
	apart, err := best.ApartFrom(ctx, f.Outlying.Indices())
	if err != nil {
		return nil, err
	}
	for _, o := range apart {
		all[o.Index] = fitting.Residual{Left: o.Left, Standard: o.Standard}
	}
	return all, nil
}

// listPulls states the pulls in the order of the budget and the runs.
func (x *Findings) listPulls() []Pull {
	var list []Pull
	for _, t := range x.Terms {
		if !t.Moves() {
			continue
		}
		unit := quantity.MustNamed("nm")
		if t.Value.Dimension() == quantity.OfTemperature {
			unit = quantity.MustNamed("kelvin")
		}
		for run := -1; run < len(x.Set.Runs); run++ {
			if z, ok := x.Pulls[readings.SharedError{Name: t.Name, Run: run}]; ok {
				list = append(list, Pull{Name: t.Name, Run: run, Value: quantity.FromSI(z*t.Standard, unit), Z: z})
			}
		}
	}
	return list
}
