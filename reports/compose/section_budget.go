package compose

import (
	"fmt"
	"slices"

	"wedgework/reports/document"
	"wedgework/reports/record"
)

// abreast is how many figures a budget table holds beside each other.
const abreast = 4

// uncertainty gives the budget of each figure that a limit is held against. The contributions are those of one
// measurement, so the figures stand side by side.
func uncertainty(s Source) []document.Section {
	return each(s, "Uncertainty budget", func(u unit) []document.Block {
		if len(u.Budgets) == 0 {
			return nil
		}
		var b []document.Block
		budgets := make([]budget, len(u.Budgets))
		for i, of := range decided(u) {
			budgets[i] = budget{u.Budgets[i], of}
		}
		for some := range slices.Chunk(budgets, abreast) {
			b = append(b, budgetTable(u, some))
		}
		return b
	})
}

// budget is the budget of the figure held against a limit, counted from 0.
type budget struct {
	record.Budget
	limit int
}

// decided lists the limits that a figure is held against: each has a budget.
func decided(u unit) []int {
	var all []int
	for k, d := range u.found.Decisions {
		if d.Decided {
			all = append(all, k)
		}
	}
	return all
}

func budgetTable(u unit, budgets []budget) document.Table {
	t := document.Table{
		Caption: "What each contribution adds to the standard uncertainty u of the figure held against each limit, in dB",
		Columns: columns("Contribution", ">Value", "Distribution", ">Divisor", ">ν", "Shared by"),
		Note:    "Evaluated after JCGM 100 (GUM); U = k u; ν are degrees of freedom. A dash stands where a contribution does not bear on a figure. What all readings of a run share, or all runs, is carried as a correlation through the fit, χ² and En.",
	}
	var lines []record.Contribution // of all figures, each once
	for _, f := range budgets {
		t.Columns = append(t.Columns, columns(fmt.Sprintf(">Limit %d, %s", f.limit+1, plainName(u.Limits[f.limit].Quantity)))...)
		for _, c := range f.Contributions {
			if !slices.ContainsFunc(lines, func(l record.Contribution) bool { return sameSource(l, c) }) {
				lines = append(lines, c)
			}
		}
	}
	row := func(head []string, of func(record.Budget) string) {
		for _, f := range budgets {
			head = append(head, of(f.Budget))
		}
		t.Rows = append(t.Rows, head)
	}
	for _, l := range lines {
		row([]string{plainName(l.Name), l.Value, l.Distribution, num(l.Divisor), orElse(l.DOF, "∞"), l.Shared}, func(f record.Budget) string {
			if k := slices.IndexFunc(f.Contributions, func(c record.Contribution) bool { return sameSource(l, c) }); k >= 0 {
				return num(f.Contributions[k].Standard)
			}
			return "–"
		})
	}
	foot := func(name string) []string { return []string{name, "", "", "", "", ""} }
	row(foot("combined, u"), func(f record.Budget) string { return num(f.Standard) })
	row(foot("coverage factor, k"), func(f record.Budget) string { return num(f.K) })
	if slices.ContainsFunc(budgets, func(f budget) bool { return f.DOF != "" }) {
		row(foot("effective degrees of freedom"), func(f record.Budget) string { return orElse(f.DOF, "∞") })
	}
	row(foot("expanded, U"), func(f record.Budget) string { return num(f.Expanded) })
	if slices.ContainsFunc(budgets, func(f budget) bool { return f.MonteCarlo != nil }) {
		row(foot("interval by u"), func(f record.Budget) string {
			if f.MonteCarlo == nil {
				return "–"
			}
			return between(f.MonteCarlo.LinearLow, f.MonteCarlo.LinearHigh)
		})
		row(foot("interval by Monte Carlo"), func(f record.Budget) string {
			switch m := f.MonteCarlo; {
			case m == nil:
				return "–"
			case m.High == "":
				return "at least" + tie + num(m.Low)
			default:
				return between(m.Low, m.High)
			}
		})
		t.Note += monteCarlo(budgets)
	}
	return t
}

// monteCarlo says what the two intervals are, and of which figures they disagree.
func monteCarlo(budgets []budget) string {
	note := " Both intervals hold 95.45 %; the second is that of JCGM 101, with the contributions acting in power and along the model's curve, and checks the first."
	for _, f := range budgets {
		if m := f.MonteCarlo; m != nil && !m.Agrees {
			note += fmt.Sprintf(" Limit %d: they differ by more than the numerical tolerance of %s dB, and the decision rests on the second.", f.limit+1, num(m.Tolerance))
		}
	}
	return note
}

// sameSource reports whether two lines are one contribution to two figures.
func sameSource(a, b record.Contribution) bool {
	a.Standard, b.Standard = "", ""
	a.Sensitivity, b.Sensitivity = "", ""
	return a == b
}
