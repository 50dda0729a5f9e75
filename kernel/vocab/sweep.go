package vocab

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"wedgework/optics/quantity"
)

// mostPoints bounds the points of a sweep, and of a grid of two: enough for a picometre over 100 nm,
// few enough that a slip in a step does not eat the machine.
const mostPoints = 200_000

// Sweep is the axis of a computation: values of one quantity, in one unit, in order.
type Sweep struct {
	unit   quantity.Unit
	values []float64 // in unit; strictly rising or strictly falling
	name   string    // of the parameter that takes the values, "wedge1.apex"; "" for one told by its dimension
}

var (
	_ starlark.Sliceable  = (*Sweep)(nil)
	_ starlark.Sequence   = (*Sweep)(nil)
	_ starlark.HasBinary  = (*Sweep)(nil)
	_ starlark.HasUnary   = (*Sweep)(nil)
	_ starlark.HasAttrs   = (*Sweep)(nil)
	_ starlark.Comparable = (*Sweep)(nil)
)

// errTooMany is the refusal of an axis or grid over the bound.
var errTooMany = fmt.Errorf("more than %d points: use a larger step", mostPoints)

// stepped returns the sweep from start to stop in steps, in the unit of start. The end point belongs to
// it when a whole number of steps reaches it within rounding.
func stepped(start, stop, step quantity.Quantity) (*Sweep, error) {
	last, width, err := span(start, stop)
	if err != nil {
		return nil, err
	}
	if step.Absolute() || step.Dimension() != start.Dimension() {
		return nil, fmt.Errorf("step= must be a %s, got %s", difference(start), describe(fromQuantity(step)))
	}
	d, err := step.In(width.Unit)
	if err != nil {
		return nil, err
	}
	if !(d.Value > 0) {
		return nil, fmt.Errorf("step= must be positive, got %s", step)
	}
	// A millionth of a step is far above the rounding of start + n*step and far below any real step.
	n := math.Floor(width.Value/d.Value + 1e-6)
	if n >= mostPoints {
		return nil, errTooMany
	}
	s := &Sweep{unit: start.Unit, values: make([]float64, int(n)+1)}
	for i := range s.values {
		s.values[i] = start.Value + float64(i)*d.Value
	}
	if end := &s.values[len(s.values)-1]; math.Abs(*end-last) < 1e-6*d.Value {
		*end = last
	}
	return s, nil
}

// counted returns count values evenly spaced from start to stop, both included.
func counted(start, stop quantity.Quantity, count int) (*Sweep, error) {
	last, width, err := span(start, stop)
	if err != nil {
		return nil, err
	}
	switch {
	case count < 1 || count == 1 && width.Value != 0:
		return nil, fmt.Errorf("count= must be at least 2, got %d", count)
	case count > 1 && width.Value == 0:
		return nil, fmt.Errorf("start and stop are both %s, which leaves no room for %d different points", start, count)
	case count > mostPoints:
		return nil, errTooMany
	}
	s := &Sweep{unit: start.Unit, values: make([]float64, count)}
	for i := range s.values {
		s.values[i] = start.Value + width.Value*(float64(i)/float64(max(count-1, 1)))
	}
	s.values[count-1] = last
	return s, nil
}

// span returns the end in the unit of start, and the distance, which must not be negative.
func span(start, stop quantity.Quantity) (last float64, width quantity.Quantity, err error) {
	if start.Dimension() != stop.Dimension() || start.Absolute() != stop.Absolute() {
		return 0, width, fmt.Errorf("start and stop must have the same dimension, got %s and %s",
			describe(fromQuantity(start)), describe(fromQuantity(stop)))
	}
	end, err := stop.In(start.Unit)
	if err != nil {
		return 0, width, err
	}
	if width, err = quantity.Sub(end, start); err != nil {
		return 0, width, err
	}
	if width.Value < 0 {
		return 0, width, fmt.Errorf("stop must not be below start, got %s to %s", start, stop)
	}
	if math.IsNaN(width.Value) || math.IsInf(width.Value, 0) {
		return 0, width, errors.New("start and stop must be finite")
	}
	return end.Value, width, nil
}

func difference(q quantity.Quantity) string {
	if q.Absolute() && q.Dimension() == quantity.OfTemperature {
		return "temperature difference in kelvin"
	}
	return noun(q)
}

func (s *Sweep) Type() string          { return "sweep" }
func (s *Sweep) Freeze()               {}
func (s *Sweep) Truth() starlark.Bool  { return len(s.values) > 0 }
func (s *Sweep) Hash() (uint32, error) { return 0, errors.New("unhashable: sweep") }
func (s *Sweep) String() string        { return "<" + strings.TrimPrefix(s.brief(), "a ") + ">" }

// brief describes the sweep: "sweep of 351 points, 1530 nm to 1565 nm".
func (s *Sweep) brief() string {
	if len(s.values) == 0 {
		return "a sweep of no points"
	}
	of := "a sweep of "
	if s.name != "" {
		of = "a sweep of " + s.name + ", "
	}
	return fmt.Sprintf("%s%s, %s to %s",
		of, count(len(s.values), "point"), s.quantity(0), s.quantity(len(s.values)-1))
}

func (s *Sweep) quantity(i int) quantity.Quantity {
	return quantity.Quantity{Value: s.values[i], Unit: s.unit}
}

// band returns the least and the greatest point in SI, both of which must be of the kind.
func (s *Sweep) band(k Kind) (lo, hi float64, err error) {
	if problem := k.orSweep().problem(s); problem != "" || len(s.values) == 0 {
		return 0, 0, fmt.Errorf("must be a sweep, each point %s, got %s", k.Want, s.brief())
	}
	lo, hi = s.quantity(0).SI(), s.quantity(len(s.values)-1).SI()
	return min(lo, hi), max(lo, hi), nil
}

// what names the axis: "wavelength", "temperature", "wedge1.apex".
func (s *Sweep) what() string {
	if s.name != "" {
		return s.name
	}
	switch s.dimension() {
	case quantity.OfLength:
		return "wavelength"
	case quantity.OfTemperature:
		return "temperature"
	}
	return noun(quantity.Quantity{Unit: s.unit})
}

func (s *Sweep) dimension() quantity.Dimension { return s.unit.Dimension() }

// Dimension keeps a sweep from being compared with a quantity or a number.
func (s *Sweep) Dimension() string { return "sweep of " + noun(quantity.Quantity{Unit: s.unit}) }

// named is the same sweep as the values of a parameter.
func (s *Sweep) named(name string) *Sweep { return &Sweep{s.unit, s.values, name} }

// same reports whether two axes have the same points, to the digits that Compare looks at. Those of two parameters
// differ, whatever their points.
func (s *Sweep) same(t *Sweep) bool {
	if s == t {
		return true
	}
	if s.name != t.name && s.name != "" && t.name != "" {
		return false
	}
	if len(s.values) != len(t.values) || s.dimension() != t.dimension() {
		return false
	}
	for i := range s.values {
		if c, err := quantity.Compare(s.quantity(i), t.quantity(i)); err != nil || c != 0 {
			return false
		}
	}
	return true
}

func (s *Sweep) Len() int                   { return len(s.values) }
func (s *Sweep) Index(i int) starlark.Value { return fromQuantity(s.quantity(i)) }
func (s *Sweep) Iterate() starlark.Iterator { return &iterator{s, 0} }

// Slice keeps the points that s[start:end:step] names.
func (s *Sweep) Slice(start, end, step int) starlark.Value {
	return &Sweep{s.unit, slice(s.values, start, end, step), s.name}
}

func slice[T any](v []T, start, end, step int) []T {
	out := []T{}
	for i := start; step > 0 && i < end || step < 0 && i > end; i += step {
		out = append(out, v[i])
	}
	return out
}

// iterator walks any indexable value of this package; they never change.
type iterator struct {
	of starlark.Indexable
	at int
}

func (it *iterator) Next(p *starlark.Value) bool {
	if it.at >= it.of.Len() {
		return false
	}
	*p = it.of.Index(it.at)
	it.at++
	return true
}

func (it *iterator) Done() {}

// Binary takes the sweep as a series over itself.
func (s *Sweep) Binary(op syntax.Token, y starlark.Value, side starlark.Side) (starlark.Value, error) {
	return flip(op, s, y, side)
}

// Unary is +s and -s, a series over the sweep.
func (s *Sweep) Unary(op syntax.Token) (starlark.Value, error) { return unary(op, s) }

// Power is s ** y, a series over the sweep.
func (s *Sweep) Power(y starlark.Value) (starlark.Value, error) {
	return each(s, func(q quantity.Quantity) (quantity.Quantity, error) { return power(q, y) })
}

// CompareSameType knows equality only.
func (s *Sweep) CompareSameType(op syntax.Token, y starlark.Value, _ int) (bool, error) {
	switch op {
	case syntax.EQL:
		return s.same(y.(*Sweep)), nil
	case syntax.NEQ:
		return !s.same(y.(*Sweep)), nil
	}
	return false, fmt.Errorf("sweeps cannot be ordered: compare their .start or .stop")
}

// Attr returns a field or a method.
func (s *Sweep) Attr(name string) (starlark.Value, error) { return sweepType.attr(s, name) }

// AttrNames lists them.
func (s *Sweep) AttrNames() []string { return sweepType.names(s) }

var sweepType = newType("sweep", sweepMethods,
	valueAttr("start", "quantity", "first value", func(s *Sweep) (starlark.Value, error) { return s.end(0) }),
	valueAttr("stop", "quantity", "last value",
		func(s *Sweep) (starlark.Value, error) { return s.end(len(s.values) - 1) }),
	unitAttr("unit of the values", func(s *Sweep) quantity.Unit { return s.unit }),
	valueAttr("values", "list", "values as plain numbers in .unit",
		func(s *Sweep) (starlark.Value, error) { return floats(s.values), nil }).work(),
).of("quantity")

func (s *Sweep) end(i int) (starlark.Value, error) {
	if len(s.values) == 0 {
		return nil, errors.New("the sweep has no points")
	}
	return s.Index(i), nil
}

var sweepMethods = newMethods("sweep",
	method[*Sweep]{Word{
		Name:    "to",
		Summary: "converts to plain numbers in a unit",
		Params:  []Param{{Name: "unit", Kind: unitKind, Doc: "the unit"}},
		Returns: "a list of plain numbers",
		Errors:  "the unit has another dimension",
		Example: "sweep(1550*nm, 1552*nm, 1*nm).to(um)",
	}, func(s *Sweep, _ *starlark.Thread, a Args) (starlark.Value, error) {
		return numbersIn(s.unit, s.values, arg[Unit](a, "unit"))
	}},
)

func floats(v []float64) *starlark.List {
	items := make([]starlark.Value, len(v))
	for i, x := range v {
		items[i] = starlark.Float(x)
	}
	return starlark.NewList(items)
}

func numbersIn(from quantity.Unit, v []float64, to Unit) (starlark.Value, error) {
	out := slices.Clone(v)
	for i := range out {
		q, err := convert(quantity.Quantity{Value: v[i], Unit: from}, to.Unit)
		if err != nil {
			return nil, err
		}
		out[i] = q.Value
	}
	return floats(out), nil
}
