package compose

import (
	"fmt"
	"slices"

	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/verify/decide"
)

// abreast is how many figures a budget table holds beside each other.
const abreast = 4

// uncertainty gives the budget of each figure that a limit is held against. The contributions are those of one
// measurement, so the figures stand side by side; units with the same contributions stand together.
func uncertainty(s Source) []document.Section {
	var b []document.Block
	for _, group := range alike(s.units(), sameBudgets) {
		if len(group[0].Budgets) == 0 {
			continue
		}
		budgets := make([]budget, len(group[0].Budgets))
		for i, limit := range decided(group[0].Unit) {
			budgets[i].limit = limit
			for _, u := range group {
				budgets[i].of = append(budgets[i].of, u.Budgets[i])
			}
		}
		for some := range slices.Chunk(budgets, abreast) {
			t := budgetTable(group, some)
			if len(s.units()) > 1 {
				t.Caption += "; " + who(group, s.units())
			}
			b = append(b, t)
		}
	}
	if len(b) == 0 {
		return nil
	}
	return []document.Section{{Title: "Uncertainty budget", Level: 1, Blocks: b}}
}

// alike parts units into groups that are the same in some respect, in the order of their first.
func alike(units []unit, same func(a, b unit) bool) [][]unit {
	var groups [][]unit
	for _, u := range units {
		if i := slices.IndexFunc(groups, func(g []unit) bool { return same(g[0], u) }); i >= 0 {
			groups[i] = append(groups[i], u)
			continue
		}
		groups = append(groups, []unit{u})
	}
	return groups
}

// who names units: all of them, or each.
func who(some, all []unit) string {
	if len(some) == len(all) {
		return "all units"
	}
	names := make([]string, len(some))
	for i, u := range some {
		names[i] = u.Called()
	}
	return unitList(names)
}

// sameBudgets reports whether two units have the same contributions to figures held against the same limits.
func sameBudgets(a, b unit) bool {
	return slices.Equal(decided(a.Unit), decided(b.Unit)) && slices.EqualFunc(a.Limits, b.Limits,
		func(x, y record.Limit) bool { return keyOf(x) == keyOf(y) }) &&
		slices.EqualFunc(a.Budgets, b.Budgets, func(x, y record.Budget) bool {
			return slices.EqualFunc(besideCurve(x), besideCurve(y), sameSource)
		})
}

// besideCurve returns the contributions but for what a curve leaves open between readings, which each unit has of its
// own.
func besideCurve(b record.Budget) []record.Contribution {
	return slices.DeleteFunc(slices.Clone(b.Contributions),
		func(c record.Contribution) bool { return c.Name == decide.CurveName })
}

// budget is the budget of the figure held against a limit, counted from 0, of each unit of a group.
type budget struct {
	limit int
	of    []record.Budget
}

// over prints a number of all units: one where they agree, or from the least to the greatest.
func (b budget) over(number func(record.Budget) record.Number, none string) string {
	var least, greatest record.Number
	for i, one := range b.of {
		n := number(one)
		if n == "" {
			return none
		}
		if i == 0 || n.Float() < least.Float() {
			least = n
		}
		if i == 0 || n.Float() > greatest.Float() {
			greatest = n
		}
	}
	if least == greatest {
		return least.Text()
	}
	return record.Between(least, greatest)
}

// decided lists the limits that a figure is compared with: each has a budget.
func decided(u record.Unit) []int {
	var all []int
	for k, l := range u.Limits {
		if l.Measured != "" {
			all = append(all, k)
		}
	}
	return all
}

func budgetTable(group []unit, budgets []budget) document.Table {
	t := document.Table{
		Caption: "Contributions to the standard uncertainty u of the figure compared with each limit, in dB",
		Columns: columns("Contribution", ">Value", "Distribution", ">Divisor", ">ν", "Common to"),
		Note: "Evaluated in accordance with JCGM 100 (GUM): U = k u, ν degrees of freedom. –: no contribution to " +
			"this figure. Errors common to a sweep, or to all sweeps, are treated as correlations in the fit, χ² and " +
			"En.",
	}
	if len(group) > 1 {
		t.Note += " Where units differ, the lowest and the highest value are given; the attached record holds the " +
			"budget of each unit."
	}
	var lines []record.Contribution // of all figures, each once
	for _, f := range budgets {
		t.Columns = append(t.Columns, columns(fmt.Sprintf(">Limit %d, %s", f.limit+1,
			plainName(group[0].Limits[f.limit].Quantity)))...)
		for _, c := range f.of[0].Contributions {
			if !slices.ContainsFunc(lines, func(l record.Contribution) bool { return sameSource(l, c) }) {
				lines = append(lines, c)
			}
		}
	}
	row := func(head []string, of func(budget) string) {
		for _, f := range budgets {
			head = append(head, of(f))
		}
		t.Rows = append(t.Rows, head)
	}
	for _, l := range lines {
		row([]string{plainName(l.Name), l.Value, l.Distribution, record.Condition(l.Divisor.Float()).Text(),
			l.DOF.Or("∞"), commonTo(l.Shared)}, func(f budget) string {
			return f.over(func(b record.Budget) record.Number {
				if k := slices.IndexFunc(b.Contributions, func(c record.Contribution) bool {
					return sameSource(l,
						c)
				}); k >= 0 {
					return b.Contributions[k].Standard
				}
				return ""
			}, "–")
		})
	}
	foot := func(name string, number func(record.Budget) record.Number, none string) {
		row([]string{name, "", "", "", "", ""}, func(f budget) string { return f.over(number, none) })
	}
	foot("combined u", func(b record.Budget) record.Number { return b.Standard }, "–")
	foot("coverage factor k", func(b record.Budget) record.Number { return b.K }, "–")
	if slices.ContainsFunc(budgets, func(f budget) bool {
		return slices.ContainsFunc(f.of, func(b record.Budget) bool { return b.DOF != "" })
	}) {
		foot("effective degrees of freedom", func(b record.Budget) record.Number { return b.DOF }, "∞")
	}
	foot("expanded U", func(b record.Budget) record.Number { return b.Expanded }, "–")
	return withMonteCarlo(t, group, budgets)
}

// withMonteCarlo adds what the Monte Carlo method says: of one unit both intervals, of several whether they agree.
func withMonteCarlo(t document.Table, group []unit, budgets []budget) document.Table {
	if !slices.ContainsFunc(budgets, func(f budget) bool {
		return slices.ContainsFunc(f.of, func(b record.Budget) bool { return b.MonteCarlo != nil })
	}) {
		return t
	}
	if len(group) == 1 {
		linear, carlo := []string{"coverage interval by u", "", "", "", "", ""},
			[]string{"coverage interval by Monte Carlo", "", "", "", "", ""}
		for _, f := range budgets {
			switch m := f.of[0].MonteCarlo; {
			case m == nil:
				linear, carlo = append(linear, "–"), append(carlo, "–")
			case m.High == "":
				linear, carlo = append(linear, record.Between(m.LinearLow, m.LinearHigh)),
					append(carlo, "at least"+record.Tie+m.Low.Text())
			default:
				linear, carlo = append(linear, record.Between(m.LinearLow, m.LinearHigh)),
					append(carlo, record.Between(m.Low, m.High))
			}
		}
		t.Rows = append(t.Rows, linear, carlo)
		t.Note += " Both intervals have a coverage probability of 95.45 %. The second, by Monte Carlo (JCGM 101) " +
			"with contributions acting in power and along the model’s curve, validates the first."
	} else {
		t.Note += " The 95.45 % coverage intervals by u were validated by Monte Carlo (JCGM 101), with contributions " +
			"acting in power and along the model’s curve."
	}
	agree := true
	for _, f := range budgets {
		for i, b := range f.of {
			if m := b.MonteCarlo; m != nil && !m.Agrees {
				agree = false
				of := ""
				if len(group) > 1 {
					of = " of unit " + group[i].Called()
				}
				t.Note += fmt.Sprintf(" Limit %d%s: the intervals differ by more than the numerical tolerance, %s "+
					"dB; the decision is based on the second.", f.limit+1, of, m.Tolerance.Text())
			}
		}
	}
	if agree && len(group) > 1 {
		t.Note += " The two agree within the numerical tolerance for every unit."
	}
	return t
}

// commonTo words which readings one error enters.
func commonTo(shared string) string {
	switch shared {
	case "point":
		return "one reading"
	case "run":
		return "one sweep"
	case "all":
		return "all readings"
	}
	return shared
}

// sameSource reports whether two lines are one contribution to two figures.
func sameSource(a, b record.Contribution) bool {
	a.Standard, b.Standard = "", ""
	a.Sensitivity, b.Sensitivity = "", ""
	if a.Name == decide.CurveName {
		a.Value, b.Value = "", ""
	}
	return a == b
}
