package vocab

import (
	"fmt"
	"math"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/record"
	"wedgework/reports/verify"
	numbers "wedgework/reports/verify/text"
)

// NextReadings is a plan of readings as a cell holds it.
type NextReadings struct {
	opaque
	of    []*Verification
	plan  *verify.Plan
	limit bool // the question is a limit
}

func (n *NextReadings) String() string { return "<next readings: " + n.sentence() + ">" }

// Attr returns a field or a method.
func (n *NextReadings) Attr(name string) (starlark.Value, error) {
	return nextReadingsType.attr(n, name)
}

// AttrNames lists them.
func (n *NextReadings) AttrNames() []string { return nextReadingsType.names(n) }

var nextReadingsType = newType("next_readings", methodSet[*NextReadings]{},
	textAttr("sentence", "number of readings and their expected gain, in one sentence", (*NextReadings).sentence),
	intAttr("count", "number of readings", (*NextReadings).count),
	valueAttr("places", "list", "where to read: a dict for each place, with wavelength, temperature and readings",
		func(n *NextReadings) (starlark.Value, error) {
			var all []starlark.Value
			for _, p := range n.plan.Places {
				d, err := dictOf([]string{"wavelength", "temperature", "readings"}, []starlark.Value{
					fromQuantity(inUnit(float64(p.Wavelength), "nm")),
					fromQuantity(inUnit(float64(p.Temperature), "degC")), starlark.MakeInt(p.Times)})
				if err != nil {
					return nil, err
				}
				all = append(all, d)
			}
			return starlark.NewList(all), nil
		}),
	quantityAttr("before", "expanded uncertainty so far; for several units, the largest",
		func(n *NextReadings) quantity.Quantity {
			return n.largest(func(u verify.Prospect) float64 { return u.Before })
		}),
	quantityAttr("after", "expanded uncertainty expected with the readings; for several units, the largest",
		func(n *NextReadings) quantity.Quantity {
			return n.largest(func(u verify.Prospect) float64 { return u.After })
		}),
	floatAttr("chance", "probability that the readings decide the tolerance or limit; for several units, the smallest",
		func(n *NextReadings) float64 { return n.chance() }).
		when(func(n *NextReadings) bool { return !math.IsNaN(n.chance()) }),
	boolAttr("enough", "whether what was asked is expected to be reached, or is reached already",
		func(n *NextReadings) bool { return n.plan.Enough }),
)

func inUnit(si float64, unit string) quantity.Quantity {
	q := quantity.FromSI(si, quantity.MustNamed(unit))
	q.Value = significant(q.Value, 10)
	return q
}

func (n *NextReadings) count() int {
	sum := 0
	for _, p := range n.plan.Places {
		sum += p.Times
	}
	return sum
}

func (n *NextReadings) largest(of func(verify.Prospect) float64) quantity.Quantity {
	u := 0.0
	for _, p := range n.plan.Units {
		u = max(u, of(p))
	}
	return quantity.Quantity{Value: significant(u, 6), Unit: n.plan.Units[0].Unit}
}

func (n *NextReadings) chance() float64 {
	least := math.Inf(1)
	for _, p := range n.plan.Units {
		least = min(least, p.Chance)
	}
	return least
}

// written prints an uncertainty or value of a prospect with two digits of the expected uncertainty.
func writtenWith(v, u float64, unit quantity.Unit) string {
	return fmt.Sprintf("%.*f", numbers.TwoDigits(u), v) + record.Tie + Unit{unit}.String()
}

func (n *NextReadings) sentence() string {
	u := n.plan.Units[0]
	what := u.What()
	if len(n.plan.Units) > 1 {
		what += " of " + count(len(n.plan.Units), "unit")
	}
	switch {
	case n.count() == 0 && n.plan.Enough:
		return "no further readings are needed for " + what + ": what was asked is known already"
	case n.count() == 0:
		return fmt.Sprintf("no number of readings in these sweeps decides %s: errors common to all readings of a sweep "+
			"leave an expanded uncertainty of %s", what, writtenWith(u.Least, u.Least, u.Unit))
	}
	before, after := n.largest(func(u verify.Prospect) float64 { return u.Before }), n.largest(
		func(u verify.Prospect) float64 { return u.After })
	s := fmt.Sprintf("%s at %s are expected to reduce the expanded uncertainty of %s from %s to %s",
		count(n.count(), "reading"), count(n.temperatures(), "temperature"), what,
		writtenWith(before.Value, after.Value, u.Unit), writtenWith(after.Value, after.Value, u.Unit))
	if c := n.chance(); !math.IsNaN(c) {
		s += "; the probability that they decide the question is " + record.Probability(c).Chance()
	}
	return s
}

func (n *NextReadings) temperatures() int {
	seen := map[quantity.Temperature]bool{}
	for _, p := range n.plan.Places {
		seen[p.Temperature] = true
	}
	return len(seen)
}

// blocks are the places, the expected gain, a picture and the sentence.
func (n *NextReadings) blocks() []document.Block {
	all := []document.Block{document.Plain(document.Capital(n.sentence()) + ".")}
	if n.count() > 0 {
		all = append(all, n.table(), n.picture())
	}
	return append(all, n.gain())
}

// table lists the wavelengths of each sweep.
func (n *NextReadings) table() document.Table {
	t := document.Table{Caption: "Next readings", Columns: []document.Column{
		{Head: "temperature [°C]", Align: document.Right}, {Head: "wavelengths [nm]"},
		{Head: "readings", Align: document.Right}},
		Note: "A number in parentheses is how often to read there, if more than once."}
	var ls []string
	sum := 0
	for i, p := range n.plan.Places {
		l := fmt.Sprintf("%.1f", float64(p.Wavelength)*1e9)
		if p.Times > 1 {
			l += fmt.Sprintf("%s(%d)", record.Tie, p.Times)
		}
		ls, sum = append(ls, l), sum+p.Times
		if i+1 < len(n.plan.Places) && n.plan.Places[i+1].Temperature == p.Temperature {
			continue
		}
		t.Rows = append(t.Rows, []string{fmt.Sprintf("%.1f", p.Temperature.Celsius()), strings.Join(ls, ", "),
			fmt.Sprint(sum)})
		ls, sum = nil, 0
	}
	return t
}

// gain lists what is expected of every unit.
func (n *NextReadings) gain() document.Table {
	right := document.Right
	unit := Unit{n.plan.Units[0].Unit}.String()
	t := document.Table{Caption: "Expected gain of the next readings", Columns: []document.Column{{Head: "unit"},
		{Head: "quantity"}, {Head: "value so far [" + unit + "]", Align: right},
		{Head: "U so far [" + unit + "]", Align: right}, {Head: "U expected [" + unit + "]", Align: right},
		{Head: "probability to decide", Align: right}},
		Note: "U: expanded uncertainty (coverage probability 95.45 %), from the readings so far and readings as the " +
			"fitted model expects them, with the errors of the budget."}
	for _, u := range n.plan.Units {
		digits := numbers.TwoDigits(u.After)
		name, chance := u.Name, "–"
		if name == "" {
			name = "–"
		}
		if !math.IsNaN(u.Chance) {
			chance = record.Probability(u.Chance).Chance()
		}
		t.Rows = append(t.Rows, []string{name, u.What(), fmt.Sprintf("%.*f", digits, u.Value),
			fmt.Sprintf("%.*f", digits, u.Before), fmt.Sprintf("%.*f", digits, u.After), chance})
	}
	return t
}

// picture shows the readings so far and the next ones over wavelength and temperature.
func (n *NextReadings) picture() document.Figure {
	so := figure.Series{Label: "measured", Marker: figure.Circle, Line: figure.NoLine, Color: figure.Black}
	for _, v := range n.of {
		for _, p := range v.result.Points {
			so.X, so.Y = append(so.X, float64(p.Wavelength)*1e9), append(so.Y, p.Temperature.Celsius())
		}
	}
	next := figure.Series{Label: "next", Marker: figure.MarkerAt(1), Line: figure.NoLine, Color: figure.ColorAt(1)}
	for _, p := range n.plan.Places {
		next.X, next.Y = append(next.X, float64(p.Wavelength)*1e9), append(next.Y, p.Temperature.Celsius())
	}
	c := figure.Chart{X: figure.Axis{Label: "wavelength", Unit: "nm"}, Y: figure.Axis{Label: "temperature", Unit: "°C"},
		Series: []figure.Series{so, next}}
	return figure.Panels{Charts: []figure.Chart{c}, Columns: 1}.Figure("Isolation readings so far and the next ones.")
}
