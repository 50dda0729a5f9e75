package vocab

import (
	"errors"
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/optics/tolerance"
	"wedgework/reports/document"
)

// Tightened is what becomes of the yield when tolerances are changed one at a time, as a cell holds it.
type Tightened struct {
	opaque
	found *tolerance.Changes
	count int
	costs []float64 // by parameter, of halving its tolerance; nil without costs
}

// changeFactors are halved, removed and doubled.
var changeFactors = []float64{0.5, 0, 2}

var tightenMethod = method[*Stack]{Word{
	Name:    "tighten",
	Summary: "the yield if one tolerance at a time were halved, removed or doubled",
	Params: append([]Param{
		{Name: "n", Kind: wholeKind, Doc: "number of units"}, tolerancesParam,
	}, append(overParams[:len(overParams):len(overParams)],
		Param{Name: "seed", Kind: wholeKind, Mode: Keyword, Default: starlark.MakeInt(1),
			Doc: "the same seed gives the same units"}, correlatedParam,
		Param{Name: "costs", Kind: dictKind.of("dict", `{"wedge2.axis": 2.5}`), Mode: Keyword, Optional: true,
			Doc: "what halving each tolerance costs, by path, in any one currency"}, heldParam)...),
	Returns: "tightened with .good, the yield, and .halved, .removed and .doubled, its gains by path; with costs=, " +
		".best, the path whose halving gains most for its cost",
	Errors: "limits= is missing, a path is not a parameter of the stack, or a cost is not a positive number",
	Detail: "The same units are evaluated each time, so that gains of a fraction of the yield's own interval stand " +
		"out. The uncertainty of a gain is its standard error.",
	Example: exampleStack + `s.tighten(1000, {"rotator1.angle": normal(0.6*deg), "wedge2.axis": uniform(0.5*deg)},
    limits=limits(isolation=at_least(35*dB), over=1550*nm), costs={"rotator1.angle": 3, "wedge2.axis": 1})`,
	Source: "standard error of a gain: Q. McNemar, Psychometrika 12, 153 (1947)",
}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) { return s.tighten(t, a) }}

func (s *Stack) tighten(t *starlark.Thread, a Args) (starlark.Value, error) {
	study, list, err := s.sampled(t, a, 2, mostTrials)
	if err != nil {
		return nil, err
	}
	if !slices.ContainsFunc(list, func(w wanted) bool { return w.limit != nil }) {
		return nil, errors.New("limits= is needed: what the units must meet")
	}
	costs, err := costsOf(arg[*starlark.Dict](a, "costs"), study.Tolerances)
	if err != nil {
		return nil, err
	}
	good := func(figures []float64) bool {
		for k, w := range list {
			if !w.keeps(figures[k]) {
				return false
			}
		}
		return true
	}
	ctx, work := working(t, "yield with "+count(len(study.Tolerances), "tolerance")+" changed")
	defer work.End()
	study.Progress = work.At
	return apart(t, ctx, func() (starlark.Value, error) {
		found, err := study.Changes(ctx, changeFactors, good)
		if err != nil {
			return nil, err
		}
		v := &Tightened{opaque: opaque{"tightened"}, found: found, count: study.Trials}
		if costs != nil {
			for _, path := range found.Paths {
				v.costs = append(v.costs, costs[path])
			}
		}
		return v, nil
	})
}

// costsOf reads what halving tolerances costs.
func costsOf(d *starlark.Dict, of map[string]tolerance.Tolerance) (map[string]float64, error) {
	if d == nil {
		return nil, nil
	}
	costs := map[string]float64{}
	for _, kv := range d.Items() {
		path, ok := starlark.AsString(kv[0])
		if _, known := of[path]; !ok || !known {
			return nil, fmt.Errorf("costs: %s is not the path of one of the tolerances", describe(kv[0]))
		}
		v, ok := starlark.AsFloat(kv[1])
		if !ok || !(v > 0) {
			return nil, fmt.Errorf("costs: the cost of %s must be a positive number, got %s", path, describe(kv[1]))
		}
		costs[path] = v
	}
	for path := range of {
		if _, ok := costs[path]; !ok {
			return nil, fmt.Errorf("costs: there is none for %s: give one for every tolerance", path)
		}
	}
	return costs, nil
}

func (c *Tightened) String() string {
	return fmt.Sprintf("<yield %s of %s, %s changed>", percent(c.good()), count(c.count, "unit"),
		count(len(c.found.Paths), "tolerance"))
}

func (c *Tightened) good() float64 { return float64(c.found.Good) / float64(c.count) }

// Attr returns a field or a method.
func (c *Tightened) Attr(name string) (starlark.Value, error) { return tightenedType.attr(c, name) }

// AttrNames lists them.
func (c *Tightened) AttrNames() []string { return tightenedType.names(c) }

var tightenedType = newType("tightened", methodSet[*Tightened]{},
	intAttr("count", "number of units", func(c *Tightened) int { return c.count }),
	floatAttr("good", "yield: share of the units that meet every limit", (*Tightened).good),
	gainAttr("halved", 0, "gain of yield from halving each tolerance, by path"),
	gainAttr("removed", 1, "gain of yield from removing each tolerance, by path"),
	gainAttr("doubled", 2, "gain of yield from doubling each tolerance, by path; below 0 for a loss"),
	textAttr("best", "path of the tolerance whose halving gains most yield for its cost; None without costs=",
		func(c *Tightened) string { return c.found.Paths[c.best()] },
	).when(func(c *Tightened) bool { return c.costs != nil }),
)

func gainAttr(name string, factor int, summary string) attr[*Tightened] {
	return valueAttr(name, "dict", summary, func(c *Tightened) (starlark.Value, error) {
		all := make([]starlark.Value, len(c.found.Paths))
		for j := range all {
			all[j] = starlark.Float(c.found.By[j][factor].Gain)
		}
		return dictOf(c.found.Paths, all)
	})
}

// best is the parameter whose halving gains most for its cost.
func (c *Tightened) best() int {
	best := 0
	for j := range c.costs {
		if c.perCost(j) > c.perCost(best) {
			best = j
		}
	}
	return best
}

func (c *Tightened) perCost(j int) float64 { return c.found.By[j][0].Gain / c.costs[j] }

func (c *Tightened) blocks() []document.Block {
	t := document.Table{Caption: fmt.Sprintf("Yield %s of %s: what it gains if one tolerance is changed",
		percent(c.good()), count(c.count, "unit")), Compact: true, Columns: []document.Column{{Head: "parameter"}}}
	for _, head := range []string{"halved", "removed", "doubled"} {
		t.Columns = append(t.Columns, document.Column{Head: head, Align: document.Right},
			document.Column{Head: "st. error", Align: document.Right})
	}
	if c.costs != nil {
		t.Columns = append(t.Columns, document.Column{Head: "cost of halving", Align: document.Right},
			document.Column{Head: "gain per cost", Align: document.Right})
	}
	for j, path := range c.found.Paths {
		row := []string{path}
		for _, by := range c.found.By[j] {
			row = append(row, fmt.Sprintf("%+.2f %%", 100*by.Gain), fmt.Sprintf("%.2f %%", 100*by.Error))
		}
		if c.costs != nil {
			row = append(row, fmt.Sprintf("%.4g", c.costs[j]), fmt.Sprintf("%+.3g %%", 100*c.perCost(j)))
		}
		t.Rows = append(t.Rows, row)
	}
	t.Note = "Gains are differences of the yield in percent of the units, from the same units with the one tolerance " +
		"changed."
	return []document.Block{t}
}
