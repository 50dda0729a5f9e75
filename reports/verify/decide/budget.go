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

// budgetOf states the uncertainty of a figure in dB, line by line. Errors that readings share act on it as on the
// reading nearest to the extreme. What each reading has of its own is averaged by the curve, or multiplied where
// readings are few: the curve's standard uncertainty replaces them, by a factor where it is less and by a line of its
// own for the rest.
func (e *Evidence) budgetOf(l limits.Limit, of *band) *FigureBudget {
	c := of.candidate
	var lines []uncertainty.Line
	add := func(line uncertainty.Line) { lines = append(lines, line) }
	dB := quantity.MustNamed("dB")
	if l.Quantity == limits.PDL {
		e.pdlBudget(c, add)
	} else {
		perValue := 1.0
		if e.Obs[c.obs].Backward() {
			perValue = 1 / (max(e.Values[c.obs], e.Own.Standard(c.obs)) * readings.PerDecibel)
		}
		for _, t := range e.Terms {
			if t.Model {
				continue
			}
			line := uncertainty.Line{Name: t.Name, Value: t.Value, Distribution: t.Distribution, Divisor: t.Divisor,
				Contribution: math.Abs(t.U[c.obs]) * perValue, DOF: t.DOF, Shared: t.Shared}
			if t.Standard == 0 { // stated reading by reading
				o := e.Obs[c.obs]
				line.Value = quantity.Attach(o.Stated, dB)
				if t.Shared == uncertainty.ByReference {
					line.Value = quantity.Attach(o.Reference(), dB)
				}
				if d := t.Value.Dimension(); d != quantity.OfLevel {
					line.Value = quantity.Attach(e.Rows[o.Row].Abscissa(d)/readings.PerUnit(t.Value.Unit), t.Value.Unit)
				}
				line.Standard = line.Value.Value
			} else {
				line.Standard = t.Standard / readings.PerUnit(t.Value.Unit)
			}
			if line.Standard > 0 {
				line.Sensitivity = line.Contribution / line.Standard
			}
			add(line)
		}
	}
	if of.extreme != nil {
		lines = of.throughCurve(l.Quantity, lines)
	}
	if c.correction != 0 {
		half := math.Abs(c.correction)
		add(uncertainty.Line{Name: correctionName, Value: quantity.Attach(half, dB),
			Distribution: uncertainty.Rectangular,
			Divisor:      math.Sqrt(3), Standard: half / math.Sqrt(3), Sensitivity: 1,
			Contribution: half / math.Sqrt(3),
			Shared:       uncertainty.ByPoint})
	}
	return &FigureBudget{Unit: "dB", Combined: uncertainty.Combine(lines)}
}

// pdlBudget takes the file's own uncertainty, or twice the point-wise variance of a level: PDL is the
// difference of two, in which everything shared by both cancels.
func (e *Evidence) pdlBudget(c candidate, add func(uncertainty.Line)) {
	if u := e.Rows[c.obs].UPDL; !math.IsNaN(u) {
		add(uncertainty.Line{Name: "stated in the file", Value: quantity.Of(u, "dB"), Distribution: uncertainty.Normal,
			Divisor:  1,
			Standard: u, Sensitivity: 1, Contribution: u, Shared: uncertainty.ByPoint})
		return
	}
	for _, t := range e.Terms {
		if !t.Model && t.Shared == uncertainty.ByPoint && t.Standard > 0 && t.Value.Dimension() == quantity.OfLevel {
			add(uncertainty.Line{Name: t.Name, Value: t.Value, Distribution: t.Distribution, Divisor: t.Divisor,
				Standard:    t.Standard,
				Sensitivity: math.Sqrt2, Contribution: math.Sqrt2 * t.Standard, DOF: t.DOF, Shared: t.Shared})
		}
	}
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
	return append(lines, uncertainty.Line{Name: CurveName, Value: quantity.Of(rest, "dB"),
		Distribution: uncertainty.Normal, Divisor: 1,
		Standard: rest, Sensitivity: 1, Contribution: rest, Shared: uncertainty.ByPoint})
}
