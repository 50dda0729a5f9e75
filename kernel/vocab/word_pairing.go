package vocab

import (
	"context"
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/pairing"
	"wedgework/reports/record"
)

var _ = Register(Word{
	Name:    "pairing",
	Summary: "pairs measured parts, such as films and wedges, so that most units are expected to pass",
	Params: []Param{
		{Name: "films", Kind: partsKind.of("dict", `{"rotator1.angle": [44.8*deg, 45.2*deg]}`),
			Doc: "measured values of one parameter, by its path: one part a value"},
		{Name: "wedges", Kind: partsKind.of("dict", `{"wedge2.axis": [67.4*deg, 67.9*deg]}`),
			Doc: "the same of the other parts, at least as many"},
		{Name: "stack", Kind: stackKind, Mode: Keyword, Doc: "the design that the parts are built into"},
		{Name: "limits", Kind: limitsKind, Mode: Keyword, Doc: "what a unit must meet"},
		{Name: "uncertainty", Kind: dictKind.of("dict", `{"rotator1.angle": 0.05*deg, "wedge2.axis": 0.1*deg}`),
			Mode: Keyword, Doc: "standard uncertainty of the values, by path"},
		{Name: "turn", Kind: amount("angle", "deg", "2*deg", quantity.OfAngle).notNegative(), Mode: Keyword,
			Default: of(2, "deg"),
			Doc:     "how far assembly can turn the part of the second argument, if its parameter is an angle"},
	},
	Returns: "a pairing with .pairs, .chances, .expected, .bound, .in_order, .random, .turned and .turned_in_order",
	Errors: "a path is not a parameter of the stack, there are fewer wedges than films, or an uncertainty is missing " +
		"or not positive",
	Example: exampleStack + `films = {"rotator1.angle": [44.2*deg, 45.9*deg]}
wedges = {"wedge2.axis": [66.8*deg, 68.4*deg, 67.5*deg]}
pairing(films, wedges, stack=s, limits=limits(isolation=at_least(35*dB), over=1550*nm),
        uncertainty={"rotator1.angle": 0.05*deg, "wedge2.axis": 0.1*deg}).pairs`,
	Detail: "The chance that a unit passes is the probability that the true values of its two parts meet every " +
		"limit, with normal and independent errors of measurement. The pairs maximize the sum of chances, which is " +
		"the expected number of units that pass. No other pairs exceed .bound, from the dual of the assignment " +
		"problem. .turned is the number that is expected if assembly also turns each unit to its best margin. All " +
		"other parameters have the values of the stack, and double reflections add in power.",
	Source: "conformance probability by JCGM 106; R. Jonker and A. Volgenant, Computing 38, 325 (1987)",
	Call:   pairParts,
})

// partsKind accepts the values of one parameter by its path.
var partsKind = Kind{`a dict of one path and its values such as {"rotator1.angle": [44.8*deg, 45.2*deg]}`, "",
	func(v starlark.Value) (bool, string) {
		d, ok := v.(*starlark.Dict)
		if !ok || d.Len() != 1 {
			return false, ""
		}
		kv := d.Items()[0]
		if _, ok := kv[0].(starlark.String); !ok {
			return false, ""
		}
		if problem := amongKind.problem(kv[1]); problem != "" {
			return false, problem
		}
		return true, ""
	}}

// partSide reads one side: the path, the values and their uncertainty.
func (s *Stack) partSide(a Args, name string, u *starlark.Dict) (path string, side pairing.Side, unit quantity.Unit,
	err error) {
	kv := arg[*starlark.Dict](a, name).Items()[0]
	path, _ = starlark.AsString(kv[0])
	items := starlark.Iterate(kv[1])
	defer items.Done()
	var all []quantity.Quantity
	for v := starlark.Value(nil); items.Next(&v); {
		q, _ := toQuantity(v)
		unit, all = q.Unit, append(all, q)
		side.Values = append(side.Values, q.SI())
	}
	if err := s.known(path, all...); err != nil {
		return path, side, unit, err
	}
	if len(side.Values) == 0 {
		return path, side, unit, a.refuse(name, "at least one value")
	}
	v, found, err := u.Get(starlark.String(path))
	if err != nil || !found {
		return path, side, unit, fmt.Errorf("uncertainty= has none for %s", path)
	}
	q, ok := toQuantity(v)
	if err := s.known(path, q); !ok || err != nil || !(q.SI() > 0) {
		return path, side, unit, fmt.Errorf("the uncertainty of %s must be above zero and in its dimension, got %s",
			path, describe(v))
	}
	side.Standard = q.SI()
	return path, side, unit, nil
}

func pairParts(t *starlark.Thread, a Args) (starlark.Value, error) {
	s, u := arg[*Stack](a, "stack"), arg[*starlark.Dict](a, "uncertainty")
	p := &Pairing{opaque: opaque{"pairing"}}
	var spec pairing.Spec
	var err error
	if p.paths[0], spec.Rows, p.units[0], err = s.partSide(a, "films", u); err != nil {
		return nil, err
	}
	if p.paths[1], spec.Columns, p.units[1], err = s.partSide(a, "wedges", u); err != nil {
		return nil, err
	}
	if p.paths[0] == p.paths[1] {
		return nil, fmt.Errorf("both sides are of %s: expected two parameters", p.paths[0])
	}
	if p.units[1].Dimension() == quantity.OfAngle {
		spec.Reach = a.SI("turn")
	}
	list := limitedBy(arg[*Limits](a, "limits"))
	for _, one := range list {
		if err := s.about(t, one.figure.Wavelengths, one.figure.Temperatures); err != nil {
			return nil, err
		}
	}
	ctx, work := counting(t, "pairing "+count(len(spec.Rows.Values), "part"))
	defer work.End()
	spec.Margin = func(ctx context.Context, rows, columns []float64) ([]float64, error) {
		return s.margins(ctx, list, p.paths, rows, columns)
	}
	p.rows, p.columns = spec.Rows.Values, spec.Columns.Values
	p.found, err = apart(t, ctx, func() (*pairing.Result, error) { return pairing.Run(ctx, spec) })
	if err != nil {
		return nil, err
	}
	return p, nil
}

// margins are the least margins to the limits, in parts of each limit, at every pair of values of two parameters.
func (s *Stack) margins(ctx context.Context, list []wanted, paths [2]string, rows, columns []float64) ([]float64,
	error) {
	study := tolerance.Study{Stack: s.stack, Figures: figuresOf(list), Tolerances: map[string]tolerance.Tolerance{}}
	for i, nodes := range [2][]float64{rows, columns} {
		now, err := s.stack.Parameter(paths[i])
		if err != nil {
			return nil, err
		}
		far := max(math.Abs(nodes[0]-now.SI()), math.Abs(nodes[len(nodes)-1]-now.SI()))
		study.Tolerances[paths[i]] = tolerance.Tolerance{Shape: tolerance.Uniform,
			Value: quantity.FromSI(far, now.Unit)}
	}
	figures, err := study.At(ctx, len(rows)*len(columns), func(unit int, path string) float64 {
		if path == paths[0] {
			return rows[unit/len(columns)]
		}
		return columns[unit%len(columns)]
	})
	if err != nil {
		return nil, err
	}
	margins := make([]float64, len(figures))
	for n, values := range figures {
		margins[n] = math.Inf(1)
		for k, one := range list {
			margins[n] = min(margins[n], -one.missedBy(values[k])/one.limit.Value)
		}
	}
	return margins, nil
}

// Pairing is which parts go together, as a cell holds it.
type Pairing struct {
	opaque
	paths         [2]string
	units         [2]quantity.Unit
	rows, columns []float64
	found         *pairing.Result
}

func (p *Pairing) String() string {
	return fmt.Sprintf("<pairing of %s: %.1f expected to pass>", count(len(p.rows), "unit"), p.found.Expected)
}

// Attr returns a field or a method.
func (p *Pairing) Attr(name string) (starlark.Value, error) { return pairingType.attr(p, name) }

// AttrNames lists them.
func (p *Pairing) AttrNames() []string { return pairingType.names(p) }

var pairingType = newType("pairing", methodSet[*Pairing]{},
	tupleAttr("pairs", "the pairs: position of each film with that of its wedge, counted from 0",
		func(p *Pairing) []starlark.Value {
			var all []starlark.Value
			for i, j := range p.found.Column {
				all = append(all, starlark.Tuple{starlark.MakeInt(i), starlark.MakeInt(j)})
			}
			return all
		}),
	tupleAttr("chances", "probability of each pair to pass", func(p *Pairing) []starlark.Value {
		var all []starlark.Value
		for _, c := range p.found.Chance {
			all = append(all, starlark.Float(c))
		}
		return all
	}),
	floatAttr("expected", "number of units that are expected to pass",
		func(p *Pairing) float64 { return p.found.Expected }),
	floatAttr("bound", "number that no pairs exceed; it proves the pairs where it equals .expected",
		func(p *Pairing) float64 { return p.found.Bound }),
	floatAttr("in_order", "number expected if the parts are taken in their order",
		func(p *Pairing) float64 { return p.found.InOrder }),
	floatAttr("random", "number expected of random pairs, in the mean",
		func(p *Pairing) float64 { return p.found.Random }),
	floatAttr("turned", "number expected of the pairs if assembly also turns each unit to its best margin",
		func(p *Pairing) float64 { return p.found.Turned }),
	floatAttr("turned_in_order", "number expected of parts in their order if assembly turns each unit",
		func(p *Pairing) float64 { return p.found.TurnedInOrder }),
)

// mostPairs is how many pairs a card lists; .pairs has all.
const mostPairs = 20

func (p *Pairing) blocks() []document.Block {
	n := len(p.rows)
	of := func(v float64) string { return fmt.Sprintf("%.2f of %d", v, n) }
	f := p.found
	summary := document.Table{Caption: "Units expected to pass", Columns: []document.Column{{Head: "assembly"},
		{Head: "as paired", Align: document.Right}, {Head: "and turned", Align: document.Right}},
		Rows: [][]string{{"best pairs", of(f.Expected), of(f.Turned)}, {"parts in order", of(f.InOrder),
			of(f.TurnedInOrder)}, {"random pairs, mean", of(f.Random), ""}},
		Note: fmt.Sprintf("No other pairs reach more than %.6f (dual of the assignment problem; the pairs have %.6f).",
			f.Bound, f.Expected)}
	pairs := document.Table{Caption: "Pairs", Compact: true, Columns: []document.Column{{Head: "no."},
		{Head: p.paths[0], Align: document.Right}, {Head: "paired with no."}, {Head: p.paths[1], Align: document.Right},
		{Head: "probability to pass", Align: document.Right}}}
	for i, j := range f.Column[:min(n, mostPairs)] {
		pairs.Rows = append(pairs.Rows, []string{fmt.Sprint(i + 1), p.value(0, p.rows[i]), fmt.Sprint(j + 1),
			p.value(1, p.columns[j]), record.Probability(f.Chance[i]).Chance()})
	}
	if n > mostPairs {
		pairs.Note = fmt.Sprintf("The first %d of %d pairs; .pairs has all of them.", mostPairs, n)
	}
	return []document.Block{summary, pairs, p.picture()}
}

// value writes a part's number in the unit that it came in.
func (p *Pairing) value(side int, si float64) string {
	return sensible(quantity.FromSI(si, p.units[side]))
}

// picture shows the pairs where both numbers meet every limit.
func (p *Pairing) picture() document.Figure {
	in := func(side int, si float64) float64 { return quantity.FromSI(si, p.units[side]).Value }
	m := p.found.Map
	g := figure.Grid{Levels: nil}
	for _, x := range m.Rows {
		g.X = append(g.X, in(0, x))
	}
	for k, y := range m.Columns {
		g.Y = append(g.Y, in(1, y))
		row := make([]float64, len(m.Rows))
		for r := range m.Rows {
			row[r] = 100 * m.Margin[r*len(m.Columns)+k]
		}
		g.Z = append(g.Z, row)
	}
	g.Borders = []figure.Limit{{Label: "limit", At: 0, Forbid: figure.Below}}
	pairs := figure.Series{Label: "pairs", Marker: figure.Circle, Line: figure.NoLine, Color: figure.Black}
	for i, j := range p.found.Column {
		pairs.X, pairs.Y = append(pairs.X, in(0, p.rows[i])), append(pairs.Y, in(1, p.columns[j]))
	}
	c := figure.Chart{X: figure.Axis{Label: p.paths[0], Unit: p.units[0].Symbol()},
		Y: figure.Axis{Label: p.paths[1], Unit: p.units[1].Symbol()}, Grid: &g, Series: []figure.Series{pairs},
		Tones: figure.Axis{Label: "margin", Unit: "%"}}
	f := figure.Panels{Charts: []figure.Chart{c}, Columns: 1}.Figure("Pairs of parts, and the smallest margin of a " +
		"unit to its limits, in percent of the limit. Units inside the line meet every limit.")
	return f
}
