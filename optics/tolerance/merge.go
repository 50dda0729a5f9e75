package tolerance

import (
	"context"
	"fmt"
	"reflect"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// Merge returns the outcome of two parts of a study that lie side by side, in either order: what Run finds of both
// together, to the bit, but for the units that are proofs. An error says in what they are not parts of one study. Units
// read off a surface, which each part lays anew, are not merged.
func (o *Outcome) Merge(p *Outcome) (*Outcome, error) {
	a, b := o, p
	if a.study.From > b.study.From {
		a, b = b, a
	}
	switch {
	case a.study.Seed != b.study.Seed || a.study.Trials != b.study.Trials || a.study.Held != b.study.Held ||
		!reflect.DeepEqual(a.study.Tolerances, b.study.Tolerances) ||
		!slices.Equal(a.study.Correlations, b.study.Correlations) ||
		!reflect.DeepEqual(a.study.Figures, b.study.Figures) || !reflect.DeepEqual(a.Nominal, b.Nominal) ||
		(a.study.Good == nil) != (b.study.Good == nil):
		return nil, fmt.Errorf("the parts are not of one study: stack, tolerances, figures, number of units and seed " +
			"must be the same")
	case a.study.To != b.study.From:
		return nil, fmt.Errorf("units [%d, %d) and [%d, %d) do not lie side by side", a.study.From, a.study.To,
			b.study.From, b.study.To)
	case !a.Exact || !b.Exact:
		return nil, fmt.Errorf("only parts whose units are computed by a program are merged")
	}
	out := &Outcome{Paths: a.Paths, Nominal: a.Nominal, Units: a.Units + b.Units, Exact: true, Left: a.Left + b.Left,
		Proofs: a.Proofs + b.Proofs, Bounded: a.Bounded, draw: a.draw, study: a.study, by: a.by,
		AllGood: a.AllGood + b.AllGood}
	out.study.To = b.study.To
	for k, f := range a.study.Figures {
		t := f.NewTally()
		t.Merge(a.Tallies[k])
		t.Merge(b.Tallies[k])
		values := append([]float64(nil), a.Values[k]...)
		if a.Units == len(values) {
			values = append(values, b.Values[k]...)
		}
		out.Tallies, out.Values = append(out.Tallies, t), append(out.Values, values[:min(len(values), Kept)])
		out.Off = append(out.Off, max(a.Off[k], b.Off[k]))
		out.Good = append(out.Good, a.Good[k]+b.Good[k])
	}
	return out, nil
}

// First is the number of the first unit, counted from 0: Values begin with it.
func (o *Outcome) First() int { return o.study.From }

// At returns the parameters of a unit of the study, counted from 0, in the order of Paths.
func (o *Outcome) At(unit int) []quantity.Quantity {
	x := make([]float64, len(o.by.Axes))
	for j := range x {
		x[j] = o.draw(unit-o.study.From, j)
	}
	return o.by.At(x)
}

// Unit returns a unit of the study, counted from 0, as a stack, as it leaves the line. Its errors are the context's and
// that of a unit that cannot be built.
func (o *Outcome) Unit(ctx context.Context, unit int) (*stack.Stack, error) {
	w, err := o.study.begin(ctx)
	if err != nil {
		return nil, err
	}
	w.base = w.Stack // with its own double bounces
	return w.unit(ctx, w.place(unit))
}
