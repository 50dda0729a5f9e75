package compose

import (
	"fmt"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/verify/decide"
)

// diagnosis says which physical parameters explain the readings, and what else would.
func diagnosis(u unit) []document.Block { return explained(u, true) }

// explained is the diagnosis, without the valley where room is dear: the peaks that it shows are declared figures.
func explained(u unit, valley bool) []document.Block {
	d := u.Diagnosis
	if !d.Made() {
		return nil
	}
	var b []document.Block
	if len(d.Fitted) > 0 {
		b = append(b, FittedTable(d))
	}
	b = append(b, explanationTable(d))
	if d.Note != "" {
		b = append(b, document.Plain(document.Sentence(d.Note)))
	}
	if u.found.Collapse != nil {
		b = append(b, worded(collapseFigure(u.found), "isolation in dB against the deviation of the rotation from "+
			"the null in degrees, readings of all sweeps and the fitted model", collapseResults(u.found)))
	}
	if valley && u.found.Valley != nil {
		b = append(b, worded(valleyFigure(u.found), "wavelength in nm against temperature in °C: the bands in which "+
			"limits are met, and the peaks, measured, specified and fitted",
			figureResults(u, decide.PeakWavelength, decide.PeakShift)))
	}
	if len(u.Leaks) > 0 {
		b = append(b, ledgerTable(u))
	}
	return b
}

// FittedTable has the parameters that a fit looked at: what was specified, what was fitted, and whether that is inside
// the tolerance.
func FittedTable(d record.Diagnosis) document.Table {
	t := document.Table{
		Caption: "Fitted parameters",
		Columns: columns("Parameter", "Unit", ">Specified", ">Fitted", ">95.45 % interval", ">Departure", ">Tolerance",
			"Within tolerance", "Free with it"),
		Note: "A parameter fixed in the selected explanation is shown as estimated with all named parameters free.",
	}
	for _, p := range d.Fitted {
		interval := record.Between(p.Low, p.High)
		if p.High == "" {
			interval = "≥" + record.Tie + p.Low.Text()
		}
		with := "none"
		if p.Explanation != p.Name {
			with = "all named parameters"
		}
		tolerance := "not declared"
		if p.Tolerance != "" {
			tolerance = "±" + p.Tolerance.Text()
		}
		t.Rows = append(t.Rows, []string{p.Name, unitText(p.Unit), p.Specified.Text(), p.Value.Text(), interval,
			p.Departure.Signed(), tolerance, inside(p.Within), with})
		if p.Note != "" {
			t.Note += fmt.Sprintf(" %s: %s", p.Name, strings.TrimSuffix(document.Sentence(p.Note), ".")+".")
		}
	}
	t.Note = strings.TrimSpace(t.Note)
	return t
}

// inside says whether a parameter is inside its tolerance.
func inside(outcome string) string {
	switch outcome {
	case document.Pass.String():
		return "yes"
	case document.Fail.String():
		return "no"
	case document.Undecided.String():
		return "undecided"
	}
	return "not checked"
}

func explanationTable(d record.Diagnosis) document.Table {
	t := document.Table{
		Caption: "Candidate explanations",
		Columns: columns("Free parameters", ">χ²", ">Degrees of freedom", ">p", ">ΔAICc", "Selected"),
		Note: "ΔAICc is the difference of the corrected Akaike information criterion (AICc) from the lowest. " +
			"Selected: the explanation with the fewest free parameters among those with AICc less than 2 above the " +
			"lowest, so that no parameter is freed without support from the readings.",
	}
	for _, e := range d.Explanations {
		selected := ""
		if e.Selected {
			selected = "yes"
		}
		t.Rows = append(t.Rows, []string{e.Label, e.ChiSquared.Text(), fmt.Sprint(e.DOF), e.PValue.PValue(),
			e.Above.Text(), selected})
	}
	return t
}
