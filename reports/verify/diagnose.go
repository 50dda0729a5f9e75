package verify

import (
	"context"
	"fmt"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
)

// Selected returns the model of the selected explanation.
func (f *Findings) Selected() Model {
	if f.found == nil {
		return f.Model
	}
	return f.found.best().model
}

// Fitted reports whether the selected explanation was fitted at all.
func (f *Findings) Fitted() bool { return f.found != nil && len(f.Fit) > 0 && len(f.found.list) > 1 }

// Fan is the selected model with what its fit leaves open; nil when nothing was fitted.
func (f *Findings) Fan() (*fan, error) {
	if !f.Fitted() {
		return nil, nil
	}
	return f.found.best().fan()
}

// Judge says what the findings mean: which parameters depart from what was specified, what else would give the same
// readings, and which turn of an element would mend it, given the limits and the wavelength of the insertion loss.
func (f *Findings) Judge(ctx context.Context, l limits.Limits, lossAt quantity.Length) (*Diagnosis, error) {
	g := &Diagnosis{Scaled: 1}
	switch {
	case f.found == nil:
		return g, nil
	case len(f.Fit) == 0:
		g.Note = "no parameter was named to be fitted"
	case !f.Fitted():
		g.Note = fmt.Sprintf("%d readings cannot fix %d parameters: nothing was fitted", f.full.count(), len(f.Fit))
	}
	g.Fitted = f.Fitted()
	best := f.found.best()
	g.Best, g.Scaled = f.found.selected, best.scaled()
	g.Agreement = document.Pass
	switch ratio := best.ChiSquared / float64(max(best.DOF, 1)); {
	case best.PValue < unlikely:
		g.Agreement = document.Fail
	case best.DOF > 0 && best.PValue > 1-unlikely:
		g.Note = fmt.Sprintf("the readings scatter less about the adopted model than the budget allows (chi-squared over degrees of freedom %.2f): a point-wise contribution is generous, or errors of neighbouring readings are alike", ratio)
	}
	for i := range f.found.list {
		e := &f.found.list[i]
		one := e.Explanation
		for j, v := range e.vs {
			one.Parameters = append(one.Parameters, fitted(v, e.solution.Parameters[j], e.sigma(j)))
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
	g.Correction, err = correct(ctx, g, best.model, remedy{limits: l, lossAt: lossAt, runs: f.d.runs})
	return g, err
}

// departures judges the parameters, and names those that are the cause.
func (f *Findings) departures(ctx context.Context, g *Diagnosis) error {
	vs, err := f.named()
	if err != nil {
		return err
	}
	best := f.found.best()
	l, err := newLookalikes(ctx, f.full, best.model, f.Tolerances, f.d.floor != nil)
	if err != nil {
		return err
	}
	if g.Departures, err = departures(ctx, f.found, vs, f.Tolerances, l); err != nil {
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
