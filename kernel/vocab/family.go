package vocab

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync/atomic"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/parallel"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
)

// Family is stacks that differ in the value of one parameter, or of two.
type Family struct {
	opaque
	axes   []*Sweep       // of the parameters: one, or two of which the first runs slowest
	stacks []*stack.Stack // one for each point of the axes
}

var _ starlark.Sequence = (*Family)(nil)

func (f *Family) String() string {
	return fmt.Sprintf("<family of %s over %s>", count(len(f.stacks), "stack"), briefAxes(f.axes))
}

// Len is the number of points of the first axis.
func (f *Family) Len() int { return f.axes[0].Len() }

// Index returns a stack, or the family at a point of the first of two axes.
func (f *Family) Index(i int) starlark.Value {
	if len(f.axes) == 1 {
		return newStack(f.stacks[i])
	}
	n := f.axes[1].Len()
	return &Family{f.opaque, f.axes[1:], f.stacks[i*n : (i+1)*n]}
}

// Iterate walks along the first axis.
func (f *Family) Iterate() starlark.Iterator { return &iterator{f, 0} }

// Attr returns a field or a method.
func (f *Family) Attr(name string) (starlark.Value, error) { return familyType.attr(f, name) }

// AttrNames lists them.
func (f *Family) AttrNames() []string { return familyType.names(f) }

func (f *Family) blocks() []document.Block {
	t := document.Table{Caption: "Family of stacks", Columns: []document.Column{{Head: "parameter"},
		{Head: "from", Align: document.Right}, {Head: "to", Align: document.Right},
		{Head: "values", Align: document.Right}}}
	for _, a := range f.axes {
		t.Rows = append(t.Rows, []string{a.what(), sensible(a.quantity(0)), sensible(a.quantity(a.Len() - 1)),
			fmt.Sprint(a.Len())})
	}
	return []document.Block{t}
}

var familyType = newType("family", familyMethods,
	tupleAttr("axes", "the parameters with their values: one axis, or two", func(f *Family) []*Sweep { return f.axes }),
).of("stack")

const exampleFamily = exampleStack + `f = s.over("wedge1.apex", sweep(4*deg, 6*deg, 1*deg))
`

// respondMethod is the method of a family that gives the responses of one direction.
func respondMethod(d stack.Direction, way, example string) method[*Family] {
	return method[*Family]{Word{
		Name:    d.String(),
		Summary: "responses of the stacks to light from " + way,
		Params:  []Param{wavelengthParam, temperatureParam},
		Returns: "responses, whose figures are series over the parameter, or grids over it and one more axis",
		Errors:  "there are more than two axes in all, or a wavelength or temperature is outside the range of a material",
		Example: exampleFamily + example,
	}, func(f *Family, t *starlark.Thread, a Args) (starlark.Value, error) { return f.respond(t, d, a) }}
}

var familyMethods = newMethods("family",
	respondMethod(stack.Forward, "the launching to the receiving collimator", "f.forward(1550*nm).insertion_loss"),
	respondMethod(stack.Backward, "the receiving to the launching collimator",
		"f.backward(sweep(1530*nm, 1565*nm, 5*nm)).isolation.min()"),
	method[*Family]{Word{
		Name:    "return_loss",
		Summary: "return loss of a port of each stack",
		Params: []Param{wavelengthParam, temperatureParam, portParam, {Name: "coherent", Kind: boolKind, Mode: Keyword,
			Default: starlark.False, Doc: "True: reflections interfere; False: they add in power"}},
		Returns: "a series over the parameter, or a grid over it and one more axis",
		Errors:  "there are more than two axes in all",
		Example: exampleFamily + "f.return_loss(1550*nm)",
		Source:  "IEC 61300-3-6",
	}, func(f *Family, t *starlark.Thread, a Args) (starlark.Value, error) {
		return f.returnLoss(t, a)
	}},
	method[*Family]{Word{
		Name:    "over",
		Summary: "the family with a second parameter, which takes all values with each of the first",
		Params:  familyParams,
		Returns: "a family over two parameters",
		Errors:  "the family has two already, the stacks have no such parameter, or one cannot be built",
		Example: exampleFamily + `f.over("wedge2.apex", sweep(4*deg, 6*deg, 1*deg)).forward(1550*nm).insertion_loss`,
	}, func(f *Family, t *starlark.Thread, a Args) (starlark.Value, error) {
		if len(f.axes) > 1 {
			return nil, fmt.Errorf("the family is over %s already; a third parameter has no axis", briefAxes(f.axes))
		}
		return f.over(t, a)
	}},
)

// familyParams are the parameters of over(), of a stack and of a family.
var familyParams = []Param{
	{Name: "parameter", Kind: Kind{`a path such as "wedge1.apex", a dict of paths and sweeps, or a function`, "",
		func(v starlark.Value) (bool, string) {
			switch v.(type) {
			case starlark.String, *starlark.Dict, starlark.Callable:
				return true, ""
			}
			return false, ""
		}}, Doc: `path of the parameter, or several with commas that take the same values, as in ` +
		`"wedge1.apex, wedge2.apex"; a dict of paths and sweeps of one length that go together; or a function of a ` +
		`value that returns a stack or a dict of parameter values`},
	{Name: "values", Kind: Kind{"a sweep such as sweep(3*deg, 8*deg, 0.5*deg)", "", is[*Sweep]}, Optional: true,
		Doc: "values of the parameter; omitted with a dict"},
}

// family is a stack as the family of one.
func (s *Stack) family() *Family { return &Family{opaque{"family"}, nil, []*stack.Stack{s.stack}} }

// over is the family with one more axis.
func (f *Family) over(t *starlark.Thread, a Args) (starlark.Value, error) {
	axis, at, err := f.variation(t, a)
	if err != nil {
		return nil, err
	}
	n := axis.Len()
	if n == 0 {
		return nil, errors.New("values= has no points")
	}
	if len(f.stacks)*n > mostFamily {
		return nil, fmt.Errorf("%d stacks are over the limit of %d", len(f.stacks)*n, mostFamily)
	}
	work := session.Begin(t, "stacks")
	defer work.End()
	out := &Family{f.opaque, append(f.axes[:len(f.axes):len(f.axes)], axis), make([]*stack.Stack, len(f.stacks)*n)}
	ctx := session.ContextOf(t)
	for i, from := range f.stacks {
		for k := range n {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			s, err := at(from, k)
			if err != nil {
				return nil, fmt.Errorf("with %s = %s: %w", axis.what(), axis.quantity(k), err)
			}
			out.stacks[i*n+k] = s
			work.At(i*n+k+1, len(out.stacks))
		}
	}
	return out, nil
}

// mostFamily bounds the stacks of a family: each holds its own parts, traced and aligned.
const mostFamily = 20_000

// variation is an axis and what makes the stack of each of its points.
type variation func(from *stack.Stack, k int) (*stack.Stack, error)

// variation reads the arguments of over().
func (f *Family) variation(t *starlark.Thread, a Args) (*Sweep, variation, error) {
	first := newStack(f.stacks[0])
	values := arg[*Sweep](a, "values")
	switch p := a.Get("parameter").(type) {
	case *starlark.Dict:
		if values != nil {
			return nil, nil, errors.New("a dict has its values in it: omit values=")
		}
		return first.together(p)
	case starlark.String:
		if values == nil {
			return nil, nil, errors.New("values= is missing, such as sweep(3*deg, 8*deg, 0.5*deg)")
		}
		d := new(starlark.Dict)
		for _, path := range strings.Split(string(p), ",") {
			if err := d.SetKey(starlark.String(strings.TrimSpace(path)), values); err != nil {
				return nil, nil, err
			}
		}
		axis, v, err := first.together(d)
		if err != nil {
			return nil, nil, err
		}
		return axis.named(string(p)), v, nil
	}
	if values == nil {
		return nil, nil, errors.New("values= is missing, such as sweep(3*deg, 8*deg, 0.5*deg)")
	}
	g := a.Get("parameter").(starlark.Callable)
	name := "value"
	if fn, ok := g.(*starlark.Function); ok && fn.NumParams() > 0 {
		name, _ = fn.Param(0)
	}
	return values.named(name), func(from *stack.Stack, k int) (*stack.Stack, error) {
		v, err := starlark.Call(t, g, starlark.Tuple{values.Index(k)}, nil)
		if err != nil {
			return nil, err
		}
		switch v := v.(type) {
		case *Stack:
			return v.stack, nil
		case *starlark.Dict:
			m, err := newStack(from).quantities(v)
			if err != nil {
				return nil, err
			}
			return from.Adjusted(m)
		}
		return nil, fmt.Errorf("the function must return a stack or a dict of parameter values, got %s", describe(v))
	}, nil
}

// together reads a dict of paths and the sweeps of their values, which go together.
func (s *Stack) together(d *starlark.Dict) (*Sweep, variation, error) {
	var paths []string
	var axes []*Sweep
	for _, kv := range d.Items() {
		path, ok := starlark.AsString(kv[0])
		if !ok {
			return nil, nil, fmt.Errorf("a path is a text such as \"wedge2.axis\", got %s", describe(kv[0]))
		}
		axis, ok := kv[1].(*Sweep)
		if !ok {
			return nil, nil, fmt.Errorf("the values of %s must be a sweep such as sweep(3*deg, 8*deg, 0.5*deg), got %s",
				path, describe(kv[1]))
		}
		if len(axes) > 0 && axis.Len() != axes[0].Len() {
			return nil, nil, fmt.Errorf("%s takes %s, %s takes %s: values that go together are as many",
				paths[0], count(axes[0].Len(), "value"), path, count(axis.Len(), "value"))
		}
		if axis.Len() == 0 {
			return nil, nil, fmt.Errorf("the values of %s have no points", path)
		}
		if err := s.known(path, axis.quantity(0)); err != nil {
			return nil, nil, err
		}
		paths, axes = append(paths, path), append(axes, axis)
	}
	if len(axes) == 0 {
		return nil, nil, errors.New(`the dict is empty; expected paths with sweeps, as in {"wedge1.apex": sweep(...)}`)
	}
	return axes[0].named(paths[0]), func(from *stack.Stack, k int) (*stack.Stack, error) {
		values := make(map[string]quantity.Quantity, len(paths))
		for i, p := range paths {
			values[p] = axes[i].quantity(k)
		}
		return from.Adjusted(values)
	}, nil
}

// respond computes the responses of one direction.
func (f *Family) respond(t *starlark.Thread, d stack.Direction, a Args) (starlark.Value, error) {
	axes, points, err := everyStack(f, t, d.String()+" responses", a,
		func(ctx context.Context, s *stack.Stack, at conditions) ([]stack.Point, error) {
			r, err := s.Over(ctx, d, at.wavelengths, at.temperatures)
			if err != nil {
				return nil, err
			}
			return slices.Concat(r.Points...), nil
		})
	if err != nil {
		return nil, err
	}
	return &Responses{opaque{"responses"}, d, axes, points}, nil
}

// returnLoss computes that of a port.
func (f *Family) returnLoss(t *starlark.Thread, a Args) (starlark.Value, error) {
	axes, values, err := everyStack(f, t, "return loss", a,
		func(ctx context.Context, s *stack.Stack, at conditions) ([]float64, error) {
			var all []float64
			for _, temperature := range at.temperatures {
				for _, l := range at.wavelengths {
					r, err := s.ReturnLoss(portOf(a), l, temperature, a.Bool("coherent"))
					if err == nil {
						err = ctx.Err()
					}
					if err != nil {
						return nil, err
					}
					all = append(all, r.Loss)
				}
			}
			return all, nil
		})
	if err != nil {
		return nil, err
	}
	return &Series{field: field{axes, decibel, values, "return loss"}}, nil
}

// everyStack evaluates something of every stack of a family at the conditions of a call, and returns the axes of the
// result with it.
func everyStack[V any](f *Family, t *starlark.Thread, task string, a Args,
	one func(ctx context.Context, s *stack.Stack, at conditions) ([]V, error)) ([]*Sweep, []V, error) {
	at, err := conditionsOf(a)
	if err != nil {
		return nil, nil, err
	}
	axes := slices.Clone(f.axes)
	for _, axis := range []*Sweep{at.overT, at.overL} {
		if axis != nil {
			axes = append(axes, axis)
		}
	}
	if len(axes) > 2 {
		return nil, nil, fmt.Errorf("there are %d axes, %s: give at most two in all", len(axes), briefAxes(axes))
	}
	each := len(at.wavelengths) * len(at.temperatures)
	if each*len(f.stacks) > mostPoints {
		return nil, nil, errTooMany
	}
	ctx := session.ContextOf(t)
	work := session.Begin(t, task)
	defer work.End()
	values := make([]V, each*len(f.stacks))
	var done atomic.Int64
	_, err = session.Apart(t, func() (struct{}, error) {
		return struct{}{}, parallel.Each(len(f.stacks), func(k int) error {
			if err := ctx.Err(); err != nil {
				return err
			}
			v, err := one(ctx, f.stacks[k], at)
			if err != nil {
				return fmt.Errorf("with %s: %w", f.point(k), err)
			}
			copy(values[k*each:], v)
			work.At(int(done.Add(1)), len(f.stacks))
			return nil
		})
	})
	if err != nil {
		return nil, nil, err
	}
	for _, s := range f.stacks {
		if err := newStack(s).about(t, at.wavelengths, at.temperatures); err != nil {
			return nil, nil, err
		}
	}
	return axes, values, nil
}

// point says which stack of the family one is.
func (f *Family) point(k int) string {
	text := ""
	for i := len(f.axes) - 1; i >= 0; i-- {
		a := f.axes[i]
		text = joined(fmt.Sprintf("%s = %s", a.what(), a.quantity(k%a.Len())), text)
		k /= a.Len()
	}
	return text
}

// Responses are those of a family.
type Responses struct {
	opaque
	direction stack.Direction
	axes      []*Sweep
	points    []stack.Point
}

func (r *Responses) String() string {
	return fmt.Sprintf("<%s responses over %s>", r.direction, briefAxes(r.axes))
}

// Attr returns a field.
func (r *Responses) Attr(name string) (starlark.Value, error) { return responsesType.attr(r, name) }

// AttrNames lists them.
func (r *Responses) AttrNames() []string { return responsesType.names(r) }

// among reports whether responses have the figure: without points they are any of their direction.
func (f responseFigure) among(r *Responses) bool {
	return f.along(r.direction) && (!f.axes() || len(r.points) == 0 ||
		slices.ContainsFunc(r.points, func(p stack.Point) bool { return p.Axes != polar.Crossing{} }))
}

func (r *Responses) figure(f responseFigure) *Series {
	s := &Series{field: field{axes: r.axes, unit: f.unit, label: f.label, values: make([]float64, len(r.points))}}
	for i, p := range r.points {
		s.values[i] = quantity.FromSI(f.value(p), f.unit).Value
	}
	return s
}

var responsesType = newType("responses", methodSet[*Responses]{}, responsesAttrs()...)

func responsesAttrs() []attr[*Responses] {
	all := []attr[*Responses]{
		textAttr("direction", "forward or backward", func(r *Responses) string { return r.direction.String() }),
		tupleAttr("axes", "the axes of every figure", func(r *Responses) []*Sweep { return r.axes }),
	}
	for _, f := range responseFigures {
		all = append(all, valueAttr(f.name, "series", f.summary, func(r *Responses) (starlark.Value, error) {
			return r.figure(f), nil
		}).work().only(f.among))
	}
	return all
}

func (r *Responses) blocks() []document.Block {
	t := document.Table{Caption: document.Capital(r.direction.String()) + " responses over " + briefAxes(r.axes),
		Columns: []document.Column{{Head: "figure"}, {Head: "minimum", Align: document.Right},
			{Head: "maximum", Align: document.Right}}}
	for _, f := range responseFigures {
		if !f.among(r) {
			continue
		}
		s := r.figure(f)
		if lo, hi := s.extremes(); lo >= 0 {
			t.Rows = append(t.Rows, []string{f.label, s.rounded(lo), s.rounded(hi)})
		}
	}
	return []document.Block{t}
}
