package diagnose

import (
	"context"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/text"
)

// judgeAll judges every named parameter: those of the selected explanation by it, the others by the
// explanation in which all are free.
func judgeAll(ctx context.Context, e *ranking, vs []*model.Variable, tolerances map[string]tolerance.Tolerance,
	l *lookalikes) ([]Departure, error) {
	var all []Departure
	add := func(x *fitting.Hypothesis, j int) error {
		v := x.Free[j]
		open, err := l.open(ctx, v)
		if err != nil {
			return err
		}
		d := newDeparture(v, x.Solution.Parameters[j], x.Sigma(j), open, tolerances)
		d.Indeterminate = x.Solution.Undetermined[j]
		d.Combination = e.combination(v.Path)
		if d.Indeterminate {
			d.Within, d.Significant = 0, false
		}
		if d.Significant {
			if d.Alike, err = l.of(ctx, v, x.Solution.Parameters[j]-v.At); err != nil {
				return err
			}
			d.share(tolerances)
		}
		d.Freed = x.Label
		all = append(all, d)
		return nil
	}
	best := e.best()
	for j := range best.Free {
		if err := add(best, j); err != nil {
			return nil, err
		}
	}
	if e.together < 0 {
		return all, nil
	}
	for j, v := range e.list[e.together].Free {
		if !slices.ContainsFunc(best.Free, func(b *model.Variable) bool { return b.Path == v.Path }) &&
			!e.grouped(best.Free, v.Path) {
			if err := add(&e.list[e.together], j); err != nil {
				return nil, err
			}
		}
	}
	slices.SortStableFunc(all, func(a, b Departure) int {
		return slices.IndexFunc(vs, func(v *model.Variable) bool { return v.Path == a.Path }) - slices.IndexFunc(vs,
			func(v *model.Variable) bool { return v.Path == b.Path })
	})
	return all, nil
}

// combination words what the data fix instead of a parameter, with it in front: "rotator1.angle + wedge2.axis"; ""
// where they fix the parameter.
func (e *ranking) combination(path string) string {
	for _, g := range e.groups {
		at := slices.IndexFunc(g, func(member string) bool { return strings.TrimLeft(member, "+- ") == path })
		if at < 0 {
			continue
		}
		turned := strings.HasPrefix(g[at], "- ")
		s := path
		for k, member := range g {
			if k == at {
				continue
			}
			sign := " + "
			if strings.HasPrefix(member, "- ") != turned {
				sign = " - "
			}
			s += sign + strings.TrimLeft(member, "+- ")
		}
		return s
	}
	return ""
}

// grouped reports whether the path is in one group with a parameter already judged.
func (e *ranking) grouped(vs []*model.Variable, path string) bool {
	for _, g := range e.groups {
		here, there := false, false
		for _, member := range g {
			member = strings.TrimLeft(member, "+- ")
			here = here || member == path
			there = there || slices.ContainsFunc(vs, func(v *model.Variable) bool { return v.Path == member })
		}
		if here && there {
			return true
		}
	}
	return false
}

// newDeparture holds the fitted value x of a parameter against its nominal value and its tolerance. Inside means
// inside by the expanded uncertainty, outside outside by it. A leakage may be less by what a floor higher than stated
// would explain of it: its interval reaches so much farther. Outside is what is outside with the floor as stated, for a
// mistake that nobody knows of does not excuse a part.
func newDeparture(v *model.Variable, x, sigma, floor float64, tolerances map[string]tolerance.Tolerance) Departure {
	d := Departure{Fitted: fitting.Estimate(v, x, sigma), Nominal: v.Nominal}
	if v.Leak && !d.AtLeast {
		d.shown = v.Nominal.Value - d.High
	}
	if floor > 0 && !d.AtLeast {
		d.FloorOpen = true
		if least := x - readings.Coverage*sigma - floor; least > tolerance.Darkest {
			d.High = v.Quantity(least).Value
		} else {
			d.AtLeast, d.High = true, 0
		}
	}
	limit := 0.0
	if t, ok := tolerances[v.Path]; ok {
		limit = t.Limit()
		d.Tolerance = limit / readings.PerUnit(v.Nominal.Unit)
	}
	if d.AtLeast {
		// Only the lower end is known, and more extinction than asked for is never a fault.
		d.Departure = max(d.Low-v.Nominal.Value, 0)
		if limit > 0 {
			d.Within = document.Undecided
			switch {
			case d.shown > d.Tolerance:
				d.Within = document.Fail
			case d.Low >= v.Nominal.Value-d.Tolerance:
				d.Within = document.Pass
			}
		}
		return d
	}
	d.Departure = d.Value - v.Nominal.Value
	d.U = readings.Coverage * d.Sigma
	if v.Leak { // towards the nominal value
		if d.U = d.Value - d.Low; d.Departure < 0 {
			d.U = d.High - d.Value
		}
	}
	if !v.Leak {
		d.shown = math.Abs(d.Departure) - d.U
	}
	d.Significant = math.Abs(d.Departure) > d.U
	if limit == 0 {
		return d
	}
	switch size := math.Abs(d.Departure); {
	case v.Leak && d.Departure > 0, size+d.U <= d.Tolerance:
		d.Within = document.Pass
	case d.shown > d.Tolerance:
		d.Within = document.Fail
	default:
		d.Within = document.Undecided
	}
	return d
}

// share allows for the parameters that the readings cannot distinguish from d: a departure is outside only when it is
// more than the tolerances of all of them together account for. One whose tolerance is not declared counts as being
// where it is specified to be.
func (d *Departure) share(tolerances map[string]tolerance.Tolerance) {
	if d.Within != document.Fail {
		return
	}
	least := math.Abs(d.Departure) - d.U
	if d.FloorOpen {
		least = d.shown
	}
	if least <= d.room(tolerances) {
		d.Within = document.Undecided
	}
}

// room is the tolerance of the parameter and of all that the readings cannot distinguish from it, together, in Unit.
func (d *Departure) room(tolerances map[string]tolerance.Tolerance) float64 {
	room := d.Tolerance
	for _, a := range d.Alike {
		if t, ok := tolerances[a.Path]; ok && a.Departure.Value != 0 {
			by := math.Abs(a.Departure.Value) * readings.PerUnit(a.Departure.Unit)
			room += math.Abs(d.Departure) * t.Limit() / by
		}
	}
	return room
}

// causes lists the parameters that explain a unit's departure, worst first: outside tolerance, or without
// a tolerance clearly off nominal in the selected explanation.
func causes(all []Departure, adopted *fitting.Hypothesis) []string {
	type cause struct {
		path string
		size float64
	}
	var found []cause
	for _, d := range all {
		free := slices.ContainsFunc(adopted.Free, func(v *model.Variable) bool { return v.Path == d.Path })
		better := d.AtLeast || strings.HasSuffix(d.Path, ".extinction") && d.Departure > 0
		switch {
		case d.Within == document.Fail:
			found = append(found, cause{d.Path, math.Abs(d.Departure) / d.Tolerance})
		case d.Tolerance == 0 && d.Significant && free && !better:
			found = append(found, cause{d.Path, 0})
		}
	}
	slices.SortStableFunc(found, func(a, b cause) int {
		switch {
		case a.size > b.size:
			return -1
		case a.size < b.size:
			return 1
		}
		return 0
	})
	var paths []string
	for _, c := range found {
		paths = append(paths, c.path)
	}
	return paths
}

// Decimals returns the decimals of a fitted parameter and all that is printed beside it: those of a figure for
// decibels, and otherwise as many as show its expanded uncertainty with two significant digits.
func (d Departure) Decimals() int {
	if d.Unit == quantity.MustNamed("dB") {
		return text.FigureDecimals("dB")
	}
	return text.TwoDigits(d.U)
}

// ToleranceDecimals returns the decimals of the parameter's tolerance: one at least, and more for a fine one.
func (d Departure) ToleranceDecimals() int { return max(text.Decimals(d.Tolerance), 1) }
