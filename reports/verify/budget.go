package verify

import (
	"math"
	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// correctionName is how a budget calls the way from a mean over polarization to its worst state.
const correctionName = "polarization correction"

// budgetOf states the uncertainty of one reading in dB, line by line.
func (e *Evidence) budgetOf(l limits.Limit, c candidate) *FigureBudget {
	b := &FigureBudget{Unit: "dB"}
	var u, dof []float64
	add := func(line BudgetLine) {
		if line.Contribution == 0 {
			return
		}
		b.Lines = append(b.Lines, line)
		u, dof = append(u, line.Contribution), append(dof, line.DOF)
	}
	dB := quantity.MustNamed("dB")
	if l.Quantity == limits.PDL {
		e.pdlBudget(c, add)
	} else {
		perValue := 1.0
		if e.obs[c.obs].backward() {
			perValue = 1 / (max(e.value[c.obs], e.own.Standard(c.obs)) * perDecibel)
		}
		for _, t := range e.terms {
			if t.model {
				continue
			}
			line := BudgetLine{Name: t.name, Value: t.value, Distribution: t.distribution, Divisor: t.divisor,
				Contribution: math.Abs(t.u[c.obs]) * perValue, DOF: t.dof, Shared: t.shared}
			if t.standard == 0 { // stated reading by reading
				o := e.obs[c.obs]
				line.Value = quantity.Attach(o.column, dB)
				if d := t.value.Dimension(); d != quantity.OfLevel {
					line.Value = quantity.Attach(e.Rows[o.row].abscissa(d)/perUnit(t.value.Unit), t.value.Unit)
				}
				line.Standard = line.Value.Value
			} else {
				line.Standard = t.standard / perUnit(t.value.Unit)
			}
			if t.shared == uncertainty.ByPoint {
				line.Contribution *= c.window.noise()
			}
			if line.Standard > 0 {
				line.Sensitivity = line.Contribution / line.Standard
			}
			add(line)
		}
	}
	if c.correction != 0 {
		half := math.Abs(c.correction)
		add(BudgetLine{Name: correctionName, Value: quantity.Attach(half, dB), Distribution: uncertainty.Rectangular,
			Divisor: math.Sqrt(3), Standard: half / math.Sqrt(3), Sensitivity: 1, Contribution: half / math.Sqrt(3), Shared: uncertainty.ByPoint})
	}
	sum := 0.0
	for _, v := range u {
		sum += v * v
	}
	b.Standard, b.DOF = math.Sqrt(sum), uncertainty.WelchSatterthwaite(u, dof)
	b.Expanded, b.K = uncertainty.Estimate{Standard: b.Standard, DOF: b.DOF}.Expanded()
	for i := range b.Lines {
		b.Lines[i].Share = u[i] * u[i] / sum
	}
	return b
}

// pdlBudget takes the file's own uncertainty, or twice the point-wise variance of a level: PDL is the
// difference of two, in which everything shared by both cancels.
func (e *Evidence) pdlBudget(c candidate, add func(BudgetLine)) {
	if u := e.Rows[c.obs].UPDL; !math.IsNaN(u) {
		add(BudgetLine{Name: "stated in the file", Value: quantity.Of(u, "dB"), Distribution: uncertainty.Normal, Divisor: 1,
			Standard: u, Sensitivity: 1, Contribution: u, Shared: uncertainty.ByPoint})
		return
	}
	for _, t := range e.terms {
		if !t.model && t.shared == uncertainty.ByPoint && t.standard > 0 && t.value.Dimension() == quantity.OfLevel {
			add(BudgetLine{Name: t.name, Value: t.value, Distribution: t.distribution, Divisor: t.divisor, Standard: t.standard,
				Sensitivity: math.Sqrt2, Contribution: math.Sqrt2 * t.standard, DOF: t.dof, Shared: t.shared})
		}
	}
}
