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
func (x *Scene) ledgers(ctx context.Context, film string) ([]Ledger, error) {
	m := x.Fitted
	var list []Ledger
	var at []observation
	add := func(i int, why string) {
		o := x.obs[i]
		line := x.Rows[o.row].Line
		if k := slices.IndexFunc(list, func(l Ledger) bool { return l.Line == line }); k >= 0 {
			list[k].Why += ", " + why
			return
		}
		list = append(list, Ledger{Line: line, Wavelength: o.l, Temperature: o.t, Why: why, Read: o.power})
		at = append(at, o)
	}
	for k, d := range x.Decisions {
		if d.Limit.Quantity == limits.Isolation && d.Decided {
			i := slices.IndexFunc(x.obs[:x.back], func(o observation) bool { return x.Rows[o.row].Line == d.Line })
			if i >= 0 && !x.outlying.has(i) {
				add(i, "decides limit "+strconv.Itoa(k+1))
			}
		}
	}
	least := -1
	for i, o := range x.obs[:x.back] {
		if !x.outlying.has(i) && !x.censored[i] && (least < 0 || o.power < x.obs[least].power) {
			least = i
		}
	}
	if least >= 0 {
		add(least, "most isolation")
	}
	sealed, err := sealed(m)
	if err != nil {
		return nil, err
	}
	err = each(len(list), func(k int) error {
		one := newBatch(x.data, at[k:k+1])
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
		least, err := leastLeakage(ctx, one, sealed, film)
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
		if x.floor != nil {
			parts = append(parts, LedgerPart{"floor of the fixture", x.floor.Power})
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

// leastLeakage is the leak that is left of one observation when the film turns as it should for it.
func leastLeakage(ctx context.Context, p *batch, m Model, path string) (float64, error) {
	v, err := varied(m, path)
	if err != nil {
		return 0, err
	}
	turn, err := turning(ctx, p, m, path)
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
func sealed(m Model) (Model, error) {
	values := map[string]quantity.Quantity{}
	for _, p := range m.Parameters() {
		if v, err := newVary(p); err == nil && v.leak {
			values[p.Path] = v.quantity(leastLeak)
		}
	}
	return m.Adjusted(values)
}
