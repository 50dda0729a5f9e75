package vocab

import (
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/uncertainty"
)

// Tolerance is how far a parameter may differ from its nominal value, as a cell holds it.
type Tolerance struct {
	opaque
	tolerance tolerance.Tolerance
	among     []quantity.Quantity // the values that a parameter may have, for what among() returns
}

func (t *Tolerance) String() string {
	if t.among != nil {
		return fmt.Sprintf("<among %s>", count(len(t.among), "value"))
	}
	return fmt.Sprintf("<%s, %s>", t.tolerance.Shape, t.tolerance.Value)
}

// Attr returns a field or a method.
func (t *Tolerance) Attr(name string) (starlark.Value, error) { return toleranceType.attr(t, name) }

// AttrNames lists them.
func (t *Tolerance) AttrNames() []string { return toleranceType.names(t) }

var toleranceType = newType("tolerance", methodSet[*Tolerance]{},
	textAttr("shape", "normal, uniform, triangular, truncated or among",
		func(t *Tolerance) string { return string(t.tolerance.Shape) }),
	quantityAttr("value",
		"standard deviation (normal, truncated), half-width (uniform, triangular), first value (among)",
		func(t *Tolerance) quantity.Quantity { return t.tolerance.Value }),
)

// spreadKind accepts the standard deviation or half-width of a tolerance.
var spreadKind = Kind{"a positive quantity such as 0.3*deg", "", func(v starlark.Value) (bool, string) {
	q, ok := toQuantity(v)
	switch {
	case !ok || !(q.Value > 0):
		return false, ""
	case q.Absolute():
		return false, fmt.Sprintf("got %s, a point on a scale; %s", q, scaleHint(q))
	}
	return finite(q.Value)
}}

// toleranceWord makes normal and uniform.
func toleranceWord(shape tolerance.Shape, summary, doc string) Word {
	name := string(shape)
	return Word{
		Name:    name,
		Summary: summary,
		Params:  []Param{{Name: "x", Kind: spreadKind, Doc: doc}},
		Returns: "a tolerance for tolerances=",
		Example: fmt.Sprintf(`{"rotator1.angle": %s(0.3*deg)}`, name),
		Source:  "JCGM 100:2008, 4.3",
		Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
			return &Tolerance{opaque: opaque{"tolerance"},
				tolerance: tolerance.Tolerance{Shape: shape, Value: a.Quantity("x")}}, nil
		},
	}
}

// tolerances reads a dict of parameter paths and tolerances of a stack.
func (s *Stack) tolerances(d *starlark.Dict) (map[string]tolerance.Tolerance, error) {
	if d == nil {
		return nil, nil
	}
	m := make(map[string]tolerance.Tolerance, d.Len())
	for _, kv := range d.Items() {
		path, ok := starlark.AsString(kv[0])
		if !ok {
			return nil, fmt.Errorf("a path is a text such as \"rotator1.angle\", got %s", describe(kv[0]))
		}
		t, ok := kv[1].(*Tolerance)
		if !ok {
			return nil, fmt.Errorf("the tolerance of %s must be a tolerance such as normal(x) or uniform(x), got %s",
				path, describe(kv[1]))
		}
		if err := s.known(path, t.tolerance.Value); err != nil {
			return nil, err
		}
		m[path] = t.tolerance
		if t.among != nil {
			nominal, err := s.stack.Parameter(path)
			if err != nil {
				return nil, err
			}
			m[path] = tolerance.OneOf(nominal, t.among)
		}
	}
	return m, nil
}

// correlations reads a dict of pairs of paths and correlation coefficients, in an order that does not depend on it.
func correlations(d *starlark.Dict) ([]tolerance.Correlation, error) {
	if d == nil {
		return nil, nil
	}
	var all []tolerance.Correlation
	for _, kv := range d.Items() {
		text, _ := starlark.AsString(kv[0])
		pair := tolerance.Vary{Path: text}.Paths()
		if len(pair) != 2 {
			return nil, fmt.Errorf("correlated: expected a pair of paths such as \"wedge1.apex, wedge2.apex\", got %s",
				describe(kv[0]))
		}
		v, ok := starlark.AsFloat(kv[1])
		if !ok || !(v >= -1 && v <= 1) {
			return nil, fmt.Errorf("correlated: the coefficient of %s must be a number from -1 to 1, got %s", text,
				describe(kv[1]))
		}
		slices.Sort(pair)
		all = append(all, tolerance.Correlation{Paths: [2]string(pair), Value: v})
	}
	slices.SortFunc(all, func(a, b tolerance.Correlation) int { return slices.Compare(a.Paths[:], b.Paths[:]) })
	return all, nil
}

// Contribution is one line of an uncertainty budget as a cell holds it; its name comes from the budget.
type Contribution struct {
	opaque
	line uncertainty.Contribution
}

var _ = newType("contribution", methodSet[*Contribution]{})

func (c *Contribution) String() string {
	s := []string{c.line.Value.String()}
	if c.line.Distribution != "" {
		s = append(s, string(c.line.Distribution))
	}
	if c.line.Shared != "" {
		s = append(s, "common to "+commonTo[c.line.Shared])
	}
	return "<contribution " + strings.Join(s, ", ") + ">"
}

// contributionKind is what a budget takes for a line: a quantity of a dimension that the budget knows,
// or a contribution.
func contributionKind(base Kind) Kind {
	return Kind{base.Want + ", or a contribution", base.Unit, func(v starlark.Value) (bool, string) {
		if c, ok := v.(*Contribution); ok {
			if problem := base.problem(fromQuantity(c.line.Value)); problem != "" {
				return false, "got a contribution of " + describe(fromQuantity(c.line.Value))
			}
			return true, ""
		}
		return base.accept(v)
	}}
}

// acting is a quantity that acts on a reading: a level, a length, a temperature difference or a delay.
var acting = Kind{"a quantity such as 0.05*dB, 0.02*nm, 0.5*kelvin or 0.005*ps", "", func(v starlark.Value) (bool,
	string) {
	q, ok := v.(Quantity)
	switch {
	case !ok:
		return false, ""
	case q.Absolute():
		return false, fmt.Sprintf("got %s, a point on a scale; %s", q, scaleHint(q.Quantity))
	case q.Value < 0:
		return false, ""
	}
	switch q.Quantity.Dimension() {
	case quantity.OfLevel, quantity.OfLength, quantity.OfTemperature, quantity.OfTime:
		return finite(q.Value)
	}
	return false, ""
}}
