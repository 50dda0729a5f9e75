package vocab

import (
	"fmt"
	"math"
	"sort"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
)

// along evaluates the series at one place of axis k, or at every point of a sweep, by linear
// interpolation. Outside the axis is an error: a curve is not carried beyond what was computed.
func (s *Series) along(k int, place starlark.Value) (starlark.Value, error) {
	if sweep, ok := place.(*Sweep); ok {
		axes := append([]*Sweep{}, s.axes...)
		axes[k] = sweep
		if sweep.name == "" {
			axes[k] = sweep.named(s.axes[k].name)
		}
		f := field{axes: axes, unit: s.unit, label: s.label}
		rows := make([][]float64, sweep.Len())
		for i := range rows {
			v, err := s.cut(k, sweep.quantity(i))
			if err != nil {
				return nil, err
			}
			rows[i] = v
		}
		// Each row is the series with axis k taken out: a single number, or the other axis.
		if k == 0 {
			for _, row := range rows {
				f.values = append(f.values, row...)
			}
			return &Series{field: f}, nil
		}
		for i := range s.axes[0].Len() {
			for _, row := range rows {
				f.values = append(f.values, row[i])
			}
		}
		return &Series{field: f}, nil
	}
	q, ok := toQuantity(place)
	if !ok {
		return nil, fmt.Errorf("the place must be a quantity such as %s, got %s", s.axes[k].quantity(0),
			describe(place))
	}
	v, err := s.cut(k, q)
	if err != nil {
		return nil, err
	}
	if len(s.axes) == 1 {
		return fromQuantity(quantity.Quantity{Value: v[0], Unit: s.unit}), nil
	}
	return newSeries(s.label, s.axes[1-k], s.unit, v), nil
}

// cut returns the values with axis k fixed at q.
func (s *Series) cut(k int, q quantity.Quantity) ([]float64, error) {
	i, part, err := s.axes[k].locate(q)
	if err != nil {
		return nil, err
	}
	step, n := 1, len(s.values)/s.axes[k].Len() // step along axis k; number of values that remain
	if k == 0 {
		step = n
	}
	out := make([]float64, n)
	for j := range out {
		at := j + i*step
		if k == 1 {
			at = j*s.axes[1].Len() + i
		}
		out[j] = s.values[at]
		if part > 0 {
			out[j] += part * (s.values[at+step] - s.values[at])
		}
	}
	return out, nil
}

// locate finds q on the axis: between points i and i+1, the given part of the way.
func (a *Sweep) locate(q quantity.Quantity) (i int, part float64, err error) {
	outside := func() (int, float64, error) {
		return 0, 0, fmt.Errorf("%s is outside the %s axis, %s", q, a.what(), a.brief())
	}
	x, err := q.In(a.unit)
	if err != nil || q.Absolute() != quantity.Attach(0, a.unit).Absolute() {
		return 0, 0, fmt.Errorf("the axis is in %s, got %s", Unit{a.unit}, describe(fromQuantity(q)))
	}
	n := len(a.values)
	if n == 0 {
		return outside()
	}
	sign := 1.0
	if a.values[n-1] < a.values[0] {
		sign = -1
	}
	// A place that differs from a point only in rounding is that point.
	slack := 1e-9 * math.Max(math.Abs(a.values[n-1]-a.values[0]), math.Abs(x.Value)*1e-3)
	i = sort.Search(n, func(i int) bool { return sign*a.values[i] >= sign*x.Value-slack })
	switch {
	case i == n:
		return outside()
	case math.Abs(a.values[i]-x.Value) <= slack:
		return i, 0, nil
	case i == 0:
		return outside()
	}
	return i - 1, (x.Value - a.values[i-1]) / (a.values[i] - a.values[i-1]), nil
}

// axisFor returns the axis that a place belongs to, by its dimension.
func (s *Series) axisFor(place starlark.Value) (int, error) {
	d := quantity.Dimension{}
	if sweep, ok := place.(*Sweep); ok {
		d = sweep.dimension()
	} else if q, ok := toQuantity(place); ok {
		d = q.Dimension()
	}
	for k, a := range s.axes {
		if a.dimension() == d {
			return k, nil
		}
	}
	return 0, fmt.Errorf("no axis of the %s has the dimension of %s; it is given over %s",
		s.Type(), describe(place), briefAxes(s.axes))
}

// locateAll evaluates the series at one place for each axis or for one of a grid's two.
func (s *Series) locateAll(places []starlark.Value) (starlark.Value, error) {
	var v starlark.Value = s
	for _, p := range places {
		left, ok := v.(*Series)
		if !ok {
			return nil, fmt.Errorf("takes at most %s, got %d", count(len(s.axes), "place"), len(places))
		}
		k, err := left.axisFor(p)
		if err != nil {
			return nil, err
		}
		if v, err = left.along(k, p); err != nil {
			return nil, err
		}
	}
	return v, nil
}

// band keeps the points of the axis between two places, both included.
func (s *Series) band(lo, hi quantity.Quantity) (*Series, error) {
	k, err := s.axisFor(fromQuantity(lo))
	if err != nil {
		return nil, err
	}
	a := s.axes[k]
	from, err := lo.In(a.unit)
	if err != nil {
		return nil, err
	}
	to, err := hi.In(a.unit)
	if err != nil {
		return nil, err
	}
	slack := 1e-9 * math.Max(math.Abs(from.Value), math.Abs(to.Value))
	keep := &Sweep{unit: a.unit, name: a.name}
	for _, v := range a.values {
		if v >= from.Value-slack && v <= to.Value+slack {
			keep.values = append(keep.values, v)
		}
	}
	if len(keep.values) == 0 {
		return nil, fmt.Errorf("no point lies between %s and %s on %s", lo, hi, a.brief())
	}
	v, err := s.along(k, keep)
	if err != nil {
		return nil, err
	}
	return v.(*Series), nil
}
