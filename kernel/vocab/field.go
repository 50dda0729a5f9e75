package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
)

// field is what arithmetic works on: values of one unit over no axis (a quantity), one or two.
type field struct {
	axes   []*Sweep
	unit   quantity.Unit
	values []float64 // row by row: the last axis runs fastest
	label  string
}

// toField returns numbers, quantities, sweeps and series as fields.
func toField(v starlark.Value) (field, bool) {
	switch v := v.(type) {
	case *Series:
		return v.field, true
	case *Sweep:
		return field{axes: []*Sweep{v}, unit: v.unit, values: v.values}, true
	}
	q, ok := toQuantity(v)
	return field{unit: q.Unit, values: []float64{q.Value}}, ok
}

func (f field) at(i int) quantity.Quantity {
	return quantity.Quantity{Value: f.values[i], Unit: f.unit}
}

// combine applies op point by point. Fields combine when the axes of one are among those of the other:
// a series with a series on the same axis, a grid with a series along either axis, anything with a
// quantity.
func combine(f, g field, op func(a, b quantity.Quantity) (quantity.Quantity, error)) (*Series, error) {
	r := field{axes: f.axes, label: f.label}
	if len(g.axes) > len(f.axes) {
		r = field{axes: g.axes, label: g.label}
	}
	fi, err := f.strides(r.axes)
	if err != nil {
		return nil, err
	}
	gi, err := g.strides(r.axes)
	if err != nil {
		return nil, err
	}
	n := 1
	for _, a := range r.axes {
		n *= a.Len()
	}
	r.values = make([]float64, n)
	for i := range r.values {
		v, err := op(f.at(offset(r.axes, fi, i)), g.at(offset(r.axes, gi, i)))
		if err != nil {
			return nil, err
		}
		r.values[i], r.unit = v.Value, v.Unit
	}
	if len(f.axes) > 0 && len(g.axes) > 0 && f.label != g.label {
		r.label = ""
	}
	if r.unit.Dimension() != f.unit.Dimension() {
		r.label = "" // what it was called no longer says what it is
	}
	if n == 0 { // the unit of nothing: that of one and one
		v, err := op(quantity.Attach(1, f.unit), quantity.Attach(1, g.unit))
		if err != nil {
			return nil, err
		}
		r.unit = v.Unit
	}
	return &Series{field: r}, nil
}

// strides says how far to move in f for one step along each axis of the result; 0 where f does not vary.
func (f field) strides(axes []*Sweep) ([]int, error) {
	s := make([]int, len(axes))
	for k, a := range f.axes {
		at := -1
		for j, b := range axes {
			if a.same(b) {
				at = j
			}
		}
		if at < 0 {
			return nil, fmt.Errorf("the axes differ: %s does not match %s; interpolate one of them, as in y.at(axis)",
				a.brief(), briefAxes(axes))
		}
		s[at] = 1
		for _, later := range f.axes[k+1:] {
			s[at] *= later.Len()
		}
	}
	return s, nil
}

// offset is the place of point i of the result in a field with the given strides.
func offset(axes []*Sweep, strides []int, i int) int {
	at := 0
	for k := len(axes) - 1; k >= 0; k-- {
		n := axes[k].Len()
		at += i % n * strides[k]
		i /= n
	}
	return at
}

func briefAxes(axes []*Sweep) string {
	s := ""
	for i, a := range axes {
		if i > 0 {
			s += " by "
		}
		s += a.brief()
	}
	return s
}
