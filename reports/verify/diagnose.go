package verify

import (
	"context"
	"fmt"

	"wedgework/reports/document"
)

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
	case best.DOF > 0 && best.PValue > 1-unlikely:
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
