package vocab

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
)

// Found is where a search ended, as a cell holds it.
type Found struct {
	opaque
	found  *tolerance.Found
	paths  []string
	value  starlark.Value
	before starlark.Value // of the stack as it was
	broke  bool           // it did not meet the limits
	limits bool
	ghosts string // how double reflections counted in every value
}

func (f *Found) String() string { return fmt.Sprintf("<found %s>", describeAt(f.paths, f.found.At)) }

func describeAt(paths []string, at []quantity.Quantity) string {
	var all []string
	for j, path := range paths {
		all = append(all, path+" = "+sensible(at[j]))
	}
	return strings.Join(all, ", ")
}

// Attr returns a field or a method.
func (f *Found) Attr(name string) (starlark.Value, error) { return foundType.attr(f, name) }

// AttrNames lists them.
func (f *Found) AttrNames() []string { return foundType.names(f) }

var foundType = newType("found", methodSet[*Found]{},
	valueAttr("stack", "stack", "stack with the parameters found",
		func(f *Found) (starlark.Value, error) { return newStack(f.found.Stack), nil }).notJSON(),
	valueAttr("at", "dict", "parameters found, by path",
		func(f *Found) (starlark.Value, error) { return parametersDict(untied(f.paths, f.found.At)) }),
	valueAttr("value", "quantity", "value of maximize= at these parameters",
		func(f *Found) (starlark.Value, error) { return f.value, nil }),
	valueAttr("before", "quantity", "value of maximize= for the original stack",
		func(f *Found) (starlark.Value, error) { return f.before, nil }),
	boolAttr("keeps_limits", "whether the limits of subject_to= are met; None without limits",
		func(f *Found) bool { return f.found.Violation == 0 }).
		when(func(f *Found) bool { return f.limits }),
	intAttr("evaluations", "number of stacks evaluated", func(f *Found) int { return f.found.Evaluations }),
)

func (f *Found) blocks() []document.Block {
	text := func(v starlark.Value) string {
		if q, ok := v.(Quantity); ok {
			return sensible(q.Quantity)
		}
		return v.String()
	}
	rows := []document.Field{{Name: "greatest value", Value: text(f.value)}, {Name: "value of the original stack",
		Value: text(f.before)}}
	var said []string
	for j, path := range f.paths {
		rows = append(rows, row(path, f.found.At[j]))
		if f.found.Bound[j] {
			said = append(said, path+" is at an end of its range: a greater value may lie beyond")
		}
	}
	switch {
	case f.found.Violation > 0:
		rows[0].Name = "value"
		said = append(said, "nothing in these ranges meets the limits: this stack misses them by least in all")
	case f.broke:
		said = append(said, "the original stack does not meet the limits")
	}
	if n := f.found.LeftOut; n > 0 {
		said = append(said, fmt.Sprintf("%s could not be built or had no finite value, and did not count",
			count(n, "stack")))
	}
	rows = append(rows, document.Field{Name: "double reflections", Value: ghostsSaid[f.ghosts]})
	rows = append(rows, document.Field{Name: "stacks evaluated", Value: fmt.Sprint(f.found.Evaluations)})
	return append([]document.Block{fields("Found", rows...)}, cautions(said)...)
}

// objective is how double reflections count in the function of a search: as the call says, or else without the ripple
// that they make when they add in amplitude. A maximum on ripple lies within a fringe of it, which a change of
// temperature or thickness by a fraction of a wavelength moves away.
func (s *Stack) objective(a Args) string {
	if a.Has("ghosts") {
		return a.Text("ghosts")
	}
	if s.stack.Ghosts() == stack.GhostsNone {
		return "none"
	}
	return "incoherent"
}

// ghostsSaid words it.
var ghostsSaid = map[string]string{
	"incoherent": "added in power: ripple is averaged out",
	"coherent":   "added in amplitude: the values include ripple",
	"none":       "left out",
}

func (s *Stack) search(t *starlark.Thread, a Args) (starlark.Value, error) {
	vary, paths, err := s.ranges(arg[*starlark.Dict](a, "vary"))
	if err != nil {
		return nil, err
	}
	list := limitedBy(arg[*Limits](a, "subject_to"))
	goals, err := goalsOf(t, a.Get("maximize"), s.objective(a))
	if err != nil {
		return nil, err
	}
	if len(goals) > 1 {
		return s.front(t, vary, paths, goals, list)
	}
	ctx, work := searching(t)
	defer work.End()
	g := goals[0]
	before, err := g.of(s.stack)
	if err != nil {
		return nil, err
	}
	broken, err := missed(ctx, s.stack, list)
	if err != nil {
		return nil, err
	}
	found, err := tolerance.Maximize(ctx, s.stack, vary, func(c *stack.Stack) (float64, float64, error) {
		v, err := g.of(c)
		if err != nil {
			return 0, 0, err
		}
		by, err := missed(ctx, c, list)
		return v, by, err
	})
	if err != nil {
		return nil, err
	}
	return &Found{opaque{"found"}, found, paths, g.written(found.Value), g.written(before),
		broken > 0, len(list) > 0, g.ghosts}, nil
}

// goal is the cell's function that a search maximizes.
type goal struct {
	thread   *starlark.Thread
	function starlark.Value
	ghosts   string         // how the stacks handed to it treat double reflections
	called   bool           // it has answered once
	unit     *quantity.Unit // of its first answer, and so of all; nil of plain numbers
}

// of calls the function; its answers must be of one kind.
func (g *goal) of(c *stack.Stack) (float64, error) {
	v, err := starlark.Call(g.thread, g.function, starlark.Tuple{newStack(c.WithGhosts(ghostModes[g.ghosts]))}, nil)
	if err != nil {
		return 0, err
	}
	q, ok := toQuantity(v)
	if !ok {
		return 0, fmt.Errorf("maximize= must return a quantity or a number, got %s", describe(v))
	}
	if !g.called {
		g.called = true
		if q.Unit != (quantity.Unit{}) {
			g.unit = &q.Unit
		}
	}
	if g.unit == nil {
		if q.Unit != (quantity.Unit{}) {
			return 0, fmt.Errorf("maximize= returned a plain number at first, now %s", describe(v))
		}
		return q.Value, nil
	}
	in, err := q.In(*g.unit)
	if err != nil {
		return 0, fmt.Errorf("maximize= returned a quantity in %s at first, now %s", g.unit.Symbol(), describe(v))
	}
	return in.Value, nil
}

// written is a value of the function as cells have it.
func (g *goal) written(v float64) starlark.Value {
	if g.unit == nil {
		return starlark.Float(v)
	}
	return fromQuantity(quantity.Quantity{Value: v, Unit: *g.unit})
}

// missed is by how much a stack misses limits, the sum over them in their units.
func missed(ctx context.Context, c *stack.Stack, list []wanted) (float64, error) {
	if len(list) == 0 {
		return 0, nil
	}
	worst, err := tolerance.Worst(ctx, c, figuresOf(list))
	if err != nil {
		return 0, err
	}
	sum := 0.0
	for k, one := range list {
		sum += max(one.missedBy(worst[k]), 0)
	}
	return sum, nil
}

// ranges reads the dict of a search, in the order of the stack's parameters.
func (s *Stack) ranges(d *starlark.Dict) ([]tolerance.Vary, []string, error) {
	byPath := map[string]tolerance.Vary{}
	seen := map[string]bool{}
	for _, kv := range d.Items() {
		path, ok := starlark.AsString(kv[0])
		if !ok {
			return nil, nil, fmt.Errorf("a path is a text such as \"wedge2.axis\", got %s", describe(kv[0]))
		}
		v := tolerance.Vary{Path: path}
		tied := v.Paths()
		for _, one := range tied {
			if seen[one] {
				return nil, nil, fmt.Errorf("vary= names %s twice", one)
			}
			seen[one] = true
		}
		if err := s.readRange(&v, kv[1]); err != nil {
			return nil, nil, err
		}
		v.Path = strings.Join(tied, ", ")
		byPath[tied[0]] = v
	}
	var vary []tolerance.Vary
	var paths []string
	for _, p := range s.stack.Parameters() {
		if v, ok := byPath[p.Path]; ok {
			vary, paths = append(vary, v), append(paths, v.Path)
		}
	}
	if len(vary) == 0 {
		return nil, nil, errors.New(`vary= must name at least one parameter, such as {"wedge2.axis": (60*deg, 75*deg)}`)
	}
	return vary, paths, nil
}

// readRange reads what a parameter of a search may be: a pair of ends, or values from among() or one_of().
func (s *Stack) readRange(v *tolerance.Vary, value starlark.Value) error {
	want := fmt.Errorf("the range of %s must be a pair of quantities such as (60*deg, 75*deg), or values from "+
		"among() or one_of(), got %s", v.Path, describe(value))
	var values []starlark.Value
	switch x := value.(type) {
	case *OneOf:
		values = x.options
	case *Tolerance:
		for _, q := range x.among {
			values = append(values, fromQuantity(q))
		}
		if values == nil {
			return want
		}
	default:
		ends, ok := two(value)
		if !ok {
			return want
		}
		values = ends
	}
	all := make([]quantity.Quantity, len(values))
	for i, one := range values {
		q, ok := toQuantity(one)
		if !ok {
			return fmt.Errorf("the range of %s must be of quantities such as 60*deg, got %s", v.Path, describe(one))
		}
		all[i] = q
	}
	for _, path := range v.Paths() {
		if err := s.known(path, all...); err != nil {
			return err
		}
	}
	if isList(value) {
		v.Low, v.High = all[0], all[1]
	} else {
		v.Among = all
	}
	return nil
}

// untied lists parameters one by one that were varied together.
func untied(paths []string, at []quantity.Quantity) ([]string, []quantity.Quantity) {
	var all []string
	var values []quantity.Quantity
	for j, path := range paths {
		for _, one := range (tolerance.Vary{Path: path}).Paths() {
			all, values = append(all, one), append(values, at[j])
		}
	}
	return all, values
}
