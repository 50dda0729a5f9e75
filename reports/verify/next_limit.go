package verify

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/diagnose"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// NextForLimit chooses the readings after which a limit of one unit is decided soonest: in the sweep with the extreme
// that decides, as near to it as they can be taken. How uncertain the figure then is says a verification of all
// readings together, the further ones as the fitted model expects them. Errors that all readings of a sweep share stay:
// where they alone leave the limit undecided, no number of readings helps, and none is chosen. Path and Target of the
// question are not used, nor is Sweeps.
func NextForLimit(ctx context.Context, spec Spec, limit int, q Question) (*Plan, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	if limit < 0 || limit >= len(spec.Limits) {
		return nil, fmt.Errorf("there is no limit %d: the specification has %d", limit+1, len(spec.Limits))
	}
	l := spec.Limits[limit]
	switch {
	case readings.ScaleOf(l.Quantity) == readings.Square:
		return nil, fmt.Errorf("readings for a limit on %s are not planned: noise makes its readings larger, and their "+
			"distribution is not normal", l.Quantity)
	}
	r, err := Run(ctx, spec)
	if err != nil {
		return nil, err
	}
	x := &limitPlan{spec: spec, limit: limit, q: q, now: r.Decisions[limit]}
	for i := range r.Budgets {
		if r.Budgets[i].Figure == x.now.Figure()+", "+x.now.Condition() {
			x.budget = &r.Budgets[i]
		}
	}
	return x.plan(ctx)
}

// limitPlan is the readings for a limit on their way.
type limitPlan struct {
	spec   Spec
	limit  int
	q      Question
	now    Decision
	budget *FigureBudget
}

func (x *limitPlan) plan(ctx context.Context) (*Plan, error) {
	d := x.now
	unit := quantity.MustNamed(d.Limit.Quantity.Unit())
	p := &Plan{Question: x.q, Units: []Prospect{{Name: x.spec.Readings.Unit, Path: d.Figure() + ", " + d.Condition(),
		Unit: unit, Value: d.Measured, Before: d.Expanded, After: d.Expanded, Chance: 1}}}
	u := &p.Units[0]
	if d.Decided && d.Outcome != document.Undecided {
		p.Enough = true
		return p, nil
	}
	switch {
	case !d.Decided || d.AtLeast || x.budget == nil:
		return nil, errors.New("no reading of the limit's quantity is a number: measure the band first")
	case d.Reserve != "":
		return nil, fmt.Errorf("further readings near the extreme do not decide the limit: %s", d.Reserve)
	}
	if u.Least = x.least(); math.Abs(d.Margin) < d.Rule.Guard*u.Least {
		u.Chance, u.After = 0, u.Least
		return p, nil
	}
	for n := 1; ; n *= 2 {
		n = min(n, x.q.Readings)
		places, err := x.near(n)
		if err != nil {
			return nil, err
		}
		then, err := x.with(ctx, places)
		if err != nil {
			return nil, err
		}
		p.Places, u.After = places, then.Expanded
		u.Chance = decidedBy(d, then.Expanded)
		if p.Enough = u.Chance >= x.q.Chance; p.Enough || n == x.q.Readings {
			return p, nil
		}
	}
}

// least is the expanded uncertainty that errors shared by all readings of a sweep leave.
func (x *limitPlan) least() float64 {
	sum := 0.0
	for _, line := range x.budget.Lines {
		if line.Shared != uncertainty.ByPoint && line.Shared != uncertainty.ByReference {
			sum += line.Contribution * line.Contribution
		}
	}
	return x.budget.K * math.Sqrt(sum)
}

// decidedBy is the probability that a limit is decided once its figure has another expanded uncertainty.
func decidedBy(d Decision, expanded float64) float64 {
	s := math.Sqrt(max(d.Expanded*d.Expanded-expanded*expanded, 0)) / d.K
	guard := d.Rule.Guard * expanded
	return uncertainty.Conformance(guard, math.Inf(1), d.Margin, s) +
		uncertainty.Conformance(math.Inf(-1), -guard, d.Margin, s)
}

// near lists places for n readings: the nearest to the extreme within the band, once each before any is repeated.
func (x *limitPlan) near(n int) ([]Place, error) {
	d := x.now
	var ls []quantity.Length
	for _, l := range x.q.Wavelengths {
		if l >= d.Limit.Low && l <= d.Limit.High {
			ls = append(ls, l)
		}
	}
	if len(ls) == 0 {
		return nil, errors.New("no wavelength at which a reading can be taken lies in the band of the limit")
	}
	if n > len(ls)*x.q.Repeats {
		return nil, fmt.Errorf("%d readings do not fit into the band: it has %d wavelengths with %d repeats", n, len(ls),
			x.q.Repeats)
	}
	slices.SortStableFunc(ls, func(a, b quantity.Length) int {
		return cmp.Compare(math.Abs(float64(a-d.Wavelength)), math.Abs(float64(b-d.Wavelength)))
	})
	var places []Place
	for k := range min(n, len(ls)) {
		times := n / len(ls)
		if k < n%len(ls) {
			times++
		}
		places = append(places, Place{diagnose.Place{Wavelength: ls[k], Temperature: d.Temperature}, times})
	}
	slices.SortFunc(places, func(a, b Place) int { return cmp.Compare(a.Wavelength, b.Wavelength) })
	return places, nil
}

// with verifies all readings together, the further ones as the fitted model expects them, and returns the decision.
func (x *limitPlan) with(ctx context.Context, places []Place) (*Decision, error) {
	spec, d, err := sorted(ctx, x.spec)
	if err != nil {
		return nil, err
	}
	f, err := diagnose.Explain(ctx, spec.asked(d))
	if err != nil {
		return nil, err
	}
	if spec.Readings, err = expecting(ctx, x.spec, f.Selected(), x.now.Limit.Quantity.Reading(), places); err != nil {
		return nil, err
	}
	spec.Model = x.spec.Model
	r, err := Run(ctx, spec)
	if err != nil {
		return nil, err
	}
	return &r.Decisions[x.limit], nil
}

// expecting is the readings of a specification with further ones of one quantity, as a model expects them.
func expecting(ctx context.Context, spec Spec, m model.Model, of limits.Quantity, places []Place) (readings.Readings,
	error) {
	r := spec.Readings
	r.Rows = slices.Clone(r.Rows)
	stated, n := 0.0, 0
	for i := range r.Rows {
		if f := r.Rows[i].Of(of); f != nil && !math.IsNaN(f.U) {
			stated, n = stated+f.U*f.U, n+1
		}
	}
	from := len(r.Rows)
	for _, p := range places {
		for range p.Times {
			f := readings.NewFigure(of, 1)
			if n > 0 {
				f.U = math.Sqrt(stated / float64(n))
			}
			r.Rows = append(r.Rows, readings.Reading{Line: len(r.Rows) + 2, Wavelength: p.Wavelength,
				Temperature: p.Temperature, Figures: []readings.Figure{f}})
		}
	}
	d := readings.NewSet(r, spec.Budget)
	expected, err := predict.NewBatch(d, d.Obs).Predict(ctx, m)
	if err != nil {
		return r, err
	}
	for i := range d.Obs {
		o := &d.Obs[i]
		if o.Row < from || o.Quantity != of {
			continue
		}
		v := expected[i]
		if o.Backward() && d.Floor != nil {
			v += d.Floor.Power
		}
		r.Rows[o.Row].Figures[0].Value = o.Scale().Figure(v)
	}
	return r, nil
}
