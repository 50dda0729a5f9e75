package vocab

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// Budget is an uncertainty budget as a cell holds it.
type Budget struct {
	opaque
	budget uncertainty.Budget
}

var budgetKind = instance[*Budget]("a budget such as budget(repeatability=0.05*dB, power_meter=0.05*dB)")

var _ = newType("budget", methodSet[*Budget]{})

func (b *Budget) String() string {
	s := "<budget of " + count(len(b.budget.Contributions), "contribution")
	if b.budget.Floor != nil {
		s += ", floor " + b.budget.Floor.Level.String()
	}
	return s + ">"
}

func (b *Budget) blocks() []document.Block {
	t := document.Table{
		Caption: "Uncertainty budget",
		Columns: []document.Column{{Head: "contribution"}, {Head: "value", Align: document.Right},
			{Head: "distribution"},
			{Head: "divisor", Align: document.Right}, {Head: "standard uncertainty", Align: document.Right},
			{Head: "degrees of freedom", Align: document.Right}, {Head: "common to"}},
	}
	for _, c := range b.budget.Contributions {
		shape := c.Distribution
		if shape == "" {
			shape = uncertainty.Normal
		}
		divisor := c.Divisor
		if divisor == 0 {
			divisor, _ = shape.Divisor() // checked when the budget was made
		}
		freedom := "∞"
		if c.DOF > 0 && !math.IsInf(c.DOF, 1) {
			freedom = fmt.Sprintf("%.4g", c.DOF)
		}
		t.Rows = append(t.Rows, []string{
			lineLabel(c), c.Value.String(), string(shape), fmt.Sprintf("%.4g", divisor),
			quantity.Quantity{Value: significant(c.Value.Value/divisor, 3), Unit: c.Value.Unit}.String(),
			freedom, commonTo[c.SharedBy()],
		})
	}
	if f := b.budget.Floor; f != nil {
		t.Note = "The fixture floor of " + f.Level.String() + " is subtracted in power."
		if f.Uncertainty.Value == 0 {
			t.Note += " Its uncertainty is not stated."
		} else {
			t.Note += " Its standard uncertainty is " + f.Uncertainty.String() + "."
		}
	}
	if len(t.Rows) == 0 {
		return []document.Block{document.Plain(t.Note)}
	}
	return []document.Block{t}
}

// lineLabel names a contribution, with the figure that it is declared for.
func lineLabel(c uncertainty.Contribution) string {
	if c.Figure == "" {
		return figureLabel(c.Name)
	}
	return figureLabel(c.Name) + ", " + limits.Quantity(c.Figure).String()
}

// commonTo says which readings an error is common to.
var commonTo = map[uncertainty.Shared]string{
	uncertainty.ByPoint: "one reading", uncertainty.ByRun: "one sweep", uncertainty.ByAll: "all readings",
}

// linesOf reads a budget's argument: one line, or of a dictionary one for each figure.
func linesOf(name string, v starlark.Value) []uncertainty.Contribution {
	d, ok := v.(*starlark.Dict)
	if !ok {
		return []uncertainty.Contribution{lineOf(name, v)}
	}
	var all []uncertainty.Contribution
	for _, kv := range d.Items() {
		line := lineOf(name, kv[1])
		line.Figure = string(kv[0].(starlark.String))
		all = append(all, line)
	}
	return all
}

// perFigureKind is a contribution to all readings of power, or a dictionary of those to single figures.
func perFigureKind(base Kind) Kind {
	one, delay := contributionKind(base), contributionKind(amount("delay", "ps", "0.005*ps",
		quantity.OfTime).notNegative())
	return Kind{one.Want + ", or a dictionary by figure such as {\"isolation\": 0.05*dB, \"dgd\": 0.005*ps}", one.Unit,
		func(v starlark.Value) (bool, string) {
			d, ok := v.(*starlark.Dict)
			if !ok {
				return one.accept(v)
			}
			for _, kv := range d.Items() {
				q, _ := starlark.AsString(kv[0])
				k := one
				switch {
				case !slices.Contains(limits.Quantities, limits.Quantity(q)):
					return false, "got the figure " + kv[0].String() + ", expected one of " + limitedFigures()
				case limits.Quantity(q) == limits.DGD:
					k = delay
				}
				if problem := k.problem(kv[1]); problem != "" {
					return false, "of " + q + " it " + problem
				}
			}
			return d.Len() > 0, ""
		}}
}

// limitedFigures lists the figures of which readings are compared with limits.
func limitedFigures() string {
	var all []string
	for _, q := range limits.Quantities {
		all = append(all, string(q))
	}
	return strings.Join(all, ", ")
}

// lineOf reads a budget's argument.
func lineOf(name string, v starlark.Value) uncertainty.Contribution {
	if c, ok := v.(*Contribution); ok {
		line := c.line
		line.Name = name
		return line
	}
	q, _ := toQuantity(v)
	return uncertainty.Contribution{Name: name, Value: q}
}
