package verify

import (
	"context"
	"math"
	"slices"
	"strconv"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
)

// ledgers takes the readings that decide the isolation limits, and the one with the most isolation.
func (x *examiner) ledgers(ctx context.Context, r *Result, m Model, film string) ([]Ledger, error) {
	var list []Ledger
	var at []observation
	add := func(i int, why string) {
		o := x.d.obs[i]
		line := x.d.Rows[o.row].Line
		if k := slices.IndexFunc(list, func(l Ledger) bool { return l.Line == line }); k >= 0 {
			list[k].Why += ", " + why
			return
		}
		list = append(list, Ledger{Line: line, Wavelength: o.l, Temperature: o.t, Why: why, Read: o.gross})
		at = append(at, o)
	}
	for k, d := range r.Decisions {
		if d.Limit.Quantity == limits.Isolation && d.Decided {
			i := slices.IndexFunc(x.d.obs[:x.d.back], func(o observation) bool { return x.d.Rows[o.row].Line == d.Line })
			if i >= 0 && !x.isOut(i) {
				add(i, "decides limit "+strconv.Itoa(k+1))
			}
		}
	}
	least := -1
	for i, o := range x.d.obs[:x.d.back] {
		if !x.isOut(i) && !x.censored[i] && (least < 0 || o.gross < x.d.obs[least].gross) {
			least = i
		}
	}
	if least >= 0 {
		add(least, "most isolation")
	}
	sealed, err := x.sealed(m)
	if err != nil {
		return nil, err
	}
	err = each(len(list), func(k int) error {
		one := x.d.plan(at[k : k+1])
		with, err := one.predict(ctx, m)
		if err != nil {
			return err
		}
		bounced, err := m.Ghosts(ctx, one.groups[0].ls, one.groups[0].ts[0])
		if err != nil {
			return err
		}
		pure, err := one.predict(ctx, sealed)
		if err != nil {
			return err
		}
		least, err := one.least(ctx, sealed, film)
		if err != nil {
			return err
		}
		ghosts := min(bounced[0], least)
		parts := []LedgerPart{
			{"rotation and axes off the null", pure[0] - least},
			{"extinction ratio of the film", with[0] - pure[0]},
			{"double bounces", ghosts},
			{"rejected beams and tilt of the rays", least - ghosts},
		}
		if x.d.floor != nil {
			parts = append(parts, LedgerPart{"floor of the fixture", x.d.floor.Power})
		}
		for _, p := range parts {
			p.Power = max(p.Power, 0)
			list[k].Parts = append(list[k].Parts, p)
			list[k].Sum += p.Power
		}
		return nil
	})
	return list, err
}

// least is the leak that is left of one observation when the film turns as it should for it.
func (p *plan) least(ctx context.Context, m Model, path string) (float64, error) {
	v, err := varied(m, path)
	if err != nil {
		return 0, err
	}
	turn, err := p.turning(ctx, m, path)
	if err != nil {
		return 0, err
	}
	leak := func(m Model, t float64) (float64, error) {
		a, err := adjusted(m, []*vary{v}, []float64{v.at + t})
		if err != nil {
			return 0, err
		}
		all, err := p.predict(ctx, a)
		if err != nil {
			return 0, err
		}
		return all[0], nil
	}
	near := math.Abs(turn[0].off)/2 + probing/10 // the stated angle varies the rotation by nearly as much
	// Where it is least, a little off hardly matters.
	t, err := golden(func(t float64) (float64, error) { return leak(nearby(m), t) }, -turn[0].off-near, -turn[0].off+near, turnEnough)
	if err != nil {
		return 0, err
	}
	return leak(m, t)
}

// sealed is the model with no light in the wrong polarization.
func (x *examiner) sealed(m Model) (Model, error) {
	values := map[string]quantity.Quantity{}
	for _, p := range m.Parameters() {
		if v, err := newVary(p); err == nil && v.leak {
			values[p.Path] = v.quantity(leastLeak)
		}
	}
	return m.Adjusted(values)
}
