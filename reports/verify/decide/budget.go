package decide

import (
	"math"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/readings"
)

// correctionName is how a budget calls the way from a mean over polarization to its worst state.
const correctionName = "polarization correction"

// CurveName is how a budget calls what the curve leaves open between and beyond readings.
const CurveName = "curve between readings"

// budgetOf states the uncertainty of a figure in its unit, line by line. Errors that readings share act on it as on the
// reading nearest to the extreme. What each reading has of its own is averaged by the curve, or multiplied where
// readings are few: the curve's standard uncertainty replaces them, by a factor where it is less and by a line of its
// own for the rest.
func (e *Evidence) budgetOf(l limits.Limit, of *band) *FigureBudget {
	c := of.candidate
	var lines []uncertainty.Line
	add := func(line uncertainty.Line) { lines = append(lines, line) }
	unit := quantity.MustNamed(l.Quantity.Unit())
	perValue := readings.ScaleOf(l.Quantity).PerFigure(e.Values[c.obs], e.Own.Standard(c.obs))
	for _, t := range e.Terms {
		if !t.Model {
			add(e.lineOf(t, c.obs, perValue))
		}
	}
	if of.extreme != nil {
		lines = of.throughCurve(l.Quantity, lines)
	}
	if c.correction != 0 {
		half := math.Abs(c.correction)
		add(uncertainty.Line{Name: correctionName, Value: quantity.Attach(stated(half), unit),
			Distribution: uncertainty.Rectangular,
			Divisor:      math.Sqrt(3), Standard: half / math.Sqrt(3), Sensitivity: 1,
			Contribution: half / math.Sqrt(3),
			Shared:       uncertainty.ByPoint})
	}
	return &FigureBudget{Unit: l.Quantity.Unit(), Combined: uncertainty.Combine(lines)}
}

// lineOf is the line of a term in the budget of a figure that stands on an observation, of which perValue is the change
// with the observation's value.
func (e *Evidence) lineOf(t readings.Term, obs int, perValue float64) uncertainty.Line {
	o := &e.Obs[obs]
	unit := quantity.MustNamed(o.Quantity.Unit())
	line := uncertainty.Line{Name: t.Name, Value: t.Value, Distribution: t.Distribution, Divisor: t.Divisor,
		Contribution: math.Abs(t.U[obs]) * perValue, DOF: t.DOF, Shared: t.Shared}
	switch d := t.Value.Dimension(); {
	case t.Standard != 0:
		line.Standard = t.Standard / readings.PerUnit(t.Value.Unit)
	case t.Name == readings.BiasName(o.Quantity): // of a square
		line.Standard = line.Contribution
		line.Value = quantity.Attach(stated(line.Contribution*t.Divisor), unit)
	case t.Shared == uncertainty.ByReference:
		line.Value = quantity.Attach(o.Reference(), unit)
		line.Standard = line.Value.Value
	case d == quantity.OfLength || d == quantity.OfTemperature: // stated reading by reading
		line.Value = quantity.Attach(e.Rows[o.Row].Abscissa(d)/readings.PerUnit(t.Value.Unit), t.Value.Unit)
		line.Standard = line.Value.Value
	default:
		line.Value = quantity.Attach(o.Stated, unit)
		line.Standard = line.Value.Value
	}
	if line.Standard > 0 {
		line.Sensitivity = line.Contribution / line.Standard
	}
	return line
}

// inCurve tells whether the curve through a sweep has a contribution among the noise of its readings: what each has of
// its own, and what the reference has at its wavelength.
func inCurve(line uncertainty.Line) bool {
	return line.Shared == uncertainty.ByPoint || line.Shared == uncertainty.ByReference
}

// throughCurve puts the curve's uncertainty in the place of that of single readings.
func (of *band) throughCurve(q limits.Quantity, lines []uncertainty.Line) []uncertainty.Line {
	_, standard := of.figure(q)
	own := 0.0
	for _, line := range lines {
		if inCurve(line) {
			own += line.Contribution * line.Contribution
		}
	}
	own = math.Sqrt(own)
	if standard < own {
		for i, line := range lines {
			if inCurve(line) {
				lines[i].Contribution *= standard / own
				lines[i].Sensitivity *= standard / own
			}
		}
		return lines
	}
	rest := math.Sqrt(standard*standard - own*own)
	return append(lines, uncertainty.Line{Name: CurveName, Value: quantity.Of(stated(rest), q.Unit()),
		Distribution: uncertainty.Normal, Divisor: 1,
		Standard: rest, Sensitivity: 1, Contribution: rest, Shared: uncertainty.ByPoint})
}

// stated is a value that was computed, as a budget states it beside those that people gave: with three digits. The last
// of ten would depend on the processor.
func stated(v float64) float64 {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return v
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-2)
	return math.Round(v/unit) * unit
}
