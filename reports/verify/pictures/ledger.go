package pictures

import (
	"context"
	"math"
	"slices"
	"strconv"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/limits"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// ledgers takes the readings that decide the isolation limits, and the one with the most isolation.
func (x *Scene) ledgers(ctx context.Context, film string) ([]Ledger, error) {
	list, at := x.entries()
	sealed, err := sealed(x.Fitted)
	if err != nil {
		return nil, err
	}
	return list, parallel.Each(len(list), func(k int) error {
		return x.account(ctx, &list[k], predict.NewBatch(x.Set, at[k:k+1]), sealed, film)
	})
}

// entries lists the readings of which ledgers are kept.
func (x *Scene) entries() (list []Ledger, at []readings.Observation) {
	add := func(i int, why string) {
		o := x.Obs[i]
		line := x.Rows[o.Row].Line
		if k := slices.IndexFunc(list, func(l Ledger) bool { return l.Line == line }); k >= 0 {
			list[k].Why += ", " + why
			return
		}
		list = append(list, Ledger{Line: line, Wavelength: o.Wavelength, Temperature: o.Temperature, Why: why,
			Read: o.Power})
		at = append(at, o)
	}
	for k, d := range x.Decisions {
		if d.Limit.Quantity == limits.Isolation && d.Decided {
			i := slices.IndexFunc(x.Obs[:x.Back],
				func(o readings.Observation) bool { return x.Rows[o.Row].Line == d.Line })
			if i >= 0 && !x.Outlying.Has(i) {
				add(i, "decides limit "+strconv.Itoa(k+1))
			}
		}
	}
	least := -1
	for i, o := range x.Obs[:x.Back] {
		if !x.Outlying.Has(i) && !x.Censored[i] && (least < 0 || o.Power < x.Obs[least].Power) {
			least = i
		}
	}
	if least >= 0 {
		add(least, "most isolation")
	}
	return list, at
}

// account divides the leakage of one reading by where it comes from.
func (x *Scene) account(ctx context.Context, to *Ledger, one *predict.Batch, sealed model.Model, film string) error {
	with, err := one.Predict(ctx, x.Fitted)
	if err != nil {
		return err
	}
	bounced, err := x.Fitted.Ghosts(ctx, one.Groups[0].Ls, one.Groups[0].Ts[0])
	if err != nil {
		return err
	}
	pure, err := one.Predict(ctx, sealed)
	if err != nil {
		return err
	}
	least, err := leastLeakage(ctx, one, sealed, film)
	if err != nil {
		return err
	}
	ghosts := min(bounced[0], least)
	parts := []LedgerPart{
		{"rotation and axes off the null", pure[0] - least},
		{"extinction ratio of the film", with[0] - pure[0]},
		{"double reflections", ghosts},
		{"rejected beams and tilt of the rays", least - ghosts},
	}
	if x.Floor != nil {
		parts = append(parts, LedgerPart{"fixture floor", x.Floor.Power})
	}
	for _, p := range parts {
		p.Power = max(p.Power, 0)
		to.Parts = append(to.Parts, p)
		to.Sum += p.Power
	}
	return nil
}

// leastLeakage is the leakage that is left of one observation when the film turns as it should for it.
func leastLeakage(ctx context.Context, p *predict.Batch, m model.Model, path string) (float64, error) {
	v, err := model.VariableOf(m, path)
	if err != nil {
		return 0, err
	}
	turn, err := turning(ctx, p, m, path)
	if err != nil {
		return 0, err
	}
	leak := func(m model.Model, t float64) (float64, error) {
		a, err := model.Adjust(m, []*model.Variable{v}, []float64{v.At + t})
		if err != nil {
			return 0, err
		}
		all, err := p.Predict(ctx, a)
		if err != nil {
			return 0, err
		}
		return all[0], nil
	}
	near := math.Abs(turn[0].off)/2 + probing/10 // the stated angle varies the rotation by nearly as much
	// Where it is least, a little off hardly matters.
	t, err := model.BestTurn(func(t float64) (float64, error) { return leak(model.Nearby(m), t) }, -turn[0].off-near,
		-turn[0].off+near)
	if err != nil {
		return 0, err
	}
	return leak(m, t)
}

// sealed is the model with no light in the wrong polarization.
func sealed(m model.Model) (model.Model, error) {
	values := map[string]quantity.Quantity{}
	for _, p := range m.Parameters() {
		if v, err := model.NewVariable(p); err == nil && v.Leak {
			values[p.Path] = v.Quantity(tolerance.Darkest)
		}
	}
	return m.Adjusted(values)
}
