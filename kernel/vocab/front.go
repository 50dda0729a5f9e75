package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
	"wedgework/reports/figure"
)

// Front is the compromises between the goals of a search, as a cell holds it.
type Front struct {
	opaque
	points      []*Compromise
	goals       []*goal
	evaluations int
}

func (f *Front) String() string {
	return fmt.Sprintf("<front of %s between %s>", count(len(f.points), "stack"), count(len(f.goals), "goal"))
}

// Attr returns a field or a method.
func (f *Front) Attr(name string) (starlark.Value, error) { return frontType.attr(f, name) }

// AttrNames lists them.
func (f *Front) AttrNames() []string { return frontType.names(f) }

var frontType = newType("front", methodSet[*Front]{},
	tupleAttr("points", "the compromises, in falling order of the first goal",
		func(f *Front) []*Compromise { return f.points }),
	intAttr("evaluations", "number of stacks evaluated", func(f *Front) int { return f.evaluations }),
)

// Compromise is a stack that no other found equals in every goal and exceeds in one.
type Compromise struct {
	opaque
	paths  []string
	found  tolerance.Compromise
	values []starlark.Value
}

func (c *Compromise) String() string {
	return fmt.Sprintf("<compromise %s>", describeAt(c.paths, c.found.At))
}

// Attr returns a field or a method.
func (c *Compromise) Attr(name string) (starlark.Value, error) { return compromiseType.attr(c, name) }

// AttrNames lists them.
func (c *Compromise) AttrNames() []string { return compromiseType.names(c) }

var compromiseType = newType("compromise", methodSet[*Compromise]{},
	valueAttr("stack", "stack", "stack with these parameters",
		func(c *Compromise) (starlark.Value, error) { return newStack(c.found.Stack), nil }).notJSON(),
	valueAttr("at", "dict", "parameters, by path",
		func(c *Compromise) (starlark.Value, error) { return parametersDict(untied(c.paths, c.found.At)) }),
	tupleAttr("values", "value of each goal", func(c *Compromise) []starlark.Value { return c.values }),
)

// goalsKind accepts one goal or several; goalsOf looks into a list.
var goalsKind = Kind{"a function such as lambda t: t.backward(1550*nm).isolation, or a list of functions", "",
	func(v starlark.Value) (bool, string) {
		if isList(v) {
			return true, ""
		}
		return is[starlark.Callable](v)
	}}

// goalsOf reads maximize=: one function, or several in a list.
func goalsOf(t *starlark.Thread, v starlark.Value, ghosts string) (all []*goal, err error) {
	functions, several := []starlark.Value{v}, isList(v)
	if several {
		if n := starlark.Len(v); n < 2 || n > tolerance.MostGoals {
			return nil, fmt.Errorf("maximize= has %s, expected one function or a list of 2 to %d",
				count(n, "function"), tolerance.MostGoals)
		}
		functions, _ = elements(v)
	}
	for _, f := range functions {
		if _, ok := f.(starlark.Callable); !ok {
			return nil, fmt.Errorf("maximize= must be a function or a list of functions, got %s in it", describe(f))
		}
		all = append(all, &goal{thread: t, function: f, ghosts: ghosts})
	}
	return all, nil
}

// front searches for compromises between several goals.
func (s *Stack) front(t *starlark.Thread, vary []tolerance.Vary, paths []string, goals []*goal,
	list []wanted) (starlark.Value, error) {
	ctx, work := searching(t)
	defer work.End()
	points, evaluations, err := tolerance.Front(ctx, s.stack, vary, len(goals),
		func(c *stack.Stack) ([]float64, float64, error) {
			v := make([]float64, len(goals))
			for k, g := range goals {
				var err error
				if v[k], err = g.of(c); err != nil {
					return nil, 0, err
				}
			}
			by, err := missed(ctx, c, list)
			return v, by, err
		})
	if err != nil {
		return nil, err
	}
	f := &Front{opaque: opaque{"front"}, goals: goals, evaluations: evaluations}
	for _, p := range points {
		c := &Compromise{opaque: opaque{"compromise"}, paths: paths, found: p}
		for k, g := range goals {
			c.values = append(c.values, g.written(p.Values[k]))
		}
		f.points = append(f.points, c)
	}
	return f, nil
}

// name calls a goal by its function, or by its place where that has no name.
func (f *Front) name(k int) string {
	if fn, ok := f.goals[k].function.(*starlark.Function); ok && fn.Name() != "lambda" {
		return fn.Name()
	}
	return fmt.Sprintf("goal %d", k+1)
}

func (f *Front) blocks() []document.Block {
	if len(f.points) == 0 {
		return cautions([]string{"nothing in these ranges meets the limits"})
	}
	t := document.Table{Caption: "Compromises: no other stack found is as good in every goal and better in one",
		Compact: true}
	for k := range f.goals {
		t.Columns = append(t.Columns, document.Column{Head: f.name(k), Align: document.Right})
	}
	for _, path := range f.points[0].paths {
		t.Columns = append(t.Columns, document.Column{Head: path, Align: document.Right})
	}
	for _, p := range f.points {
		var row []string
		for _, v := range p.values {
			row = append(row, entry(v, -1))
		}
		for _, q := range p.found.At {
			row = append(row, sensible(q))
		}
		t.Rows = append(t.Rows, row)
	}
	t.Note = fmt.Sprintf("%s evaluated.", document.Capital(count(f.evaluations, "stack")))
	return []document.Block{t, f.picture()}
}

// picture plots the second goal over the first.
func (f *Front) picture() document.Figure {
	one := figure.Series{Marker: figure.Circle, Line: figure.Solid, Color: figure.Blue}
	for _, p := range f.points {
		one.X, one.Y = append(one.X, p.found.Values[0]), append(one.Y, p.found.Values[1])
	}
	axis := func(k int) figure.Axis {
		a := figure.Axis{Label: f.name(k)}
		if u := f.goals[k].unit; u != nil && *u != (quantity.Unit{}) {
			a.Unit = u.Symbol()
		}
		return a
	}
	c := figure.Chart{X: axis(0), Y: axis(1), Series: []figure.Series{one}}
	return figure.Panels{Charts: []figure.Chart{c}, Columns: 1}.Figure("Compromises between the goals (Pareto front).")
}
