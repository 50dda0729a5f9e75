package qualify

import (
	"fmt"
	"math"
	"slices"

	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
)

// Change is the change of a figure between two measurements of one unit, beside its limit.
type Change struct {
	limits.Decision // Measured is the change, after less before
	Before, After   float64
	Cancelled       []string // contributions common to both measurements
	Undetermined    string   // why there is no figure; "" where there is one
}

// Changes holds the changes of a unit against limits on changes. Both measurements must have been verified against a
// limit on the same figure in the same band and at the same temperatures, for the figure is theirs.
//
// The variance of a change is that of both figures, less twice the covariance: an error in all readings of both is in
// the figures alike and cancels, as far as it acts on both alike: u^2 = u1^2 + u2^2 - 2 sum of c1 c2 over the
// contributions named common (JCGM 100:2008, 5.2.2, correlation 1).
func Changes(before, after *verify.Result, of limits.Limits, common []string) ([]Change, error) {
	if before.Unit != after.Unit {
		return nil, fmt.Errorf("the measurement before is of unit %q, the one after of unit %q", before.Unit,
			after.Unit)
	}
	if before.SHA256 == after.SHA256 && before.Condition == after.Condition {
		return nil, fmt.Errorf("unit %s: both measurements are the same readings, %s", before.Unit, before.File)
	}
	var all []Change
	for _, l := range of {
		if l.Change == nil {
			continue
		}
		was, is := figureOf(before, l), figureOf(after, l)
		if was == nil || is == nil {
			return nil, fmt.Errorf("unit %s has no figure for the change of %s: verify both measurements against a "+
				"limit on it, over the same band and at the same temperatures", before.Unit, l.Quantity)
		}
		all = append(all, change(l, *was, *is, common))
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("no limit is on a change: write one as limits(insertion_loss=at_most(0.2*dB), " +
			"change=\"before damp heat\", ...)")
	}
	for _, name := range common {
		if !slices.ContainsFunc(all, func(c Change) bool { return slices.Contains(c.Cancelled, name) }) {
			return nil, fmt.Errorf("%s is no contribution common to all readings in the budgets of both measurements",
				name)
		}
	}
	return all, nil
}

// figure is a measured figure with its budget.
type figure struct {
	verify.Decision
	lines []uncertainty.Line
	dof   float64
}

// figureOf finds the figure that a limit is about.
func figureOf(r *verify.Result, l limits.Limit) *figure {
	for _, d := range r.Decisions {
		o := d.Limit
		if o.Quantity != l.Quantity || o.Low != l.Low || o.High != l.High || o.TemperatureLow != l.TemperatureLow ||
			o.TemperatureHigh != l.TemperatureHigh {
			continue
		}
		f := &figure{Decision: d}
		for _, b := range r.Budgets {
			if b.Figure == d.Figure()+", "+d.Condition() {
				f.lines, f.dof = b.Lines, b.DOF
			}
		}
		return f
	}
	return nil
}

func change(l limits.Limit, was, is figure, common []string) Change {
	c := Change{Before: was.Measured, After: is.Measured}
	c.Limit, c.Rule = l, l.InForce()
	c.Outcome = document.Undecided
	switch {
	case !was.Decided || !is.Decided:
		c.Undetermined = "a measurement has no figure"
		return c
	case was.AtLeast || is.AtLeast:
		c.Undetermined = "a figure is only a lower bound"
		return c
	case was.Standard <= 0 || is.Standard <= 0:
		c.Undetermined = "a figure has no uncertainty"
		return c
	}
	variance := was.Standard*was.Standard + is.Standard*is.Standard
	for _, a := range was.lines {
		for _, b := range is.lines {
			if a.Name == b.Name && a.Shared == uncertainty.ByAll && b.Shared == uncertainty.ByAll &&
				slices.Contains(common, a.Name) {
				variance -= 2 * a.Contribution * b.Contribution
				c.Cancelled = append(c.Cancelled, a.Name)
			}
		}
	}
	u := []float64{was.Standard, is.Standard}
	e := uncertainty.Estimate{Value: is.Measured - was.Measured, Standard: math.Sqrt(max(variance, 0)),
		DOF: uncertainty.WelchSatterthwaite(u, []float64{was.dof, is.dof})}
	cancelled := c.Cancelled
	c.Decision = limits.Decide(l, e)
	c.Cancelled = cancelled
	if c.Outcome == document.Pass && (was.Reserve != "" || is.Reserve != "" || !was.Covered || !is.Covered) {
		c.Outcome, c.Undetermined = document.Undecided, "a figure does not speak for the whole limit"
	}
	return c
}
