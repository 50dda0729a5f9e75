package compose

import (
	"fmt"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/record"
)

// diagnosis says which physical parameters explain the readings, and what else would.
func diagnosis(u unit) []document.Block { return explained(u, true) }

// explained is the diagnosis, without the valley where room is dear: the peaks that it shows are declared figures.
func explained(u unit, valley bool) []document.Block {
	d := u.Diagnosis
	if !u.found.Diagnosis.Fitted {
		return nil
	}
	var b []document.Block
	if len(d.Fitted) > 0 {
		b = append(b, fittedTable(d))
	}
	b = append(b, explanationTable(u))
	if d.Note != "" {
		b = append(b, document.Plain(document.Sentence(d.Note)))
	}
	if u.found.Collapse != nil {
		b = append(b, collapseFigure(u.found))
	}
	if valley && u.found.Valley != nil {
		b = append(b, valleyFigure(u.found))
	}
	if len(u.Leaks) > 0 {
		b = append(b, ledgerTable(u))
	}
	return b
}

func fittedTable(d record.Diagnosis) document.Table {
	t := document.Table{
		Caption: "Parameters examined",
		Columns: columns("Parameter", "Unit", ">Specified", ">Fitted", ">95 % interval", ">Departure", ">Tolerance", "Within tolerance", "Fitted with"),
		Note:    "A parameter that the explanation adopted does not free is given as the fit of all of them has it.",
	}
	for _, p := range d.Fitted {
		interval := between(p.Low, p.High)
		if p.High == "" {
			interval = "at least" + tie + num(p.Low)
		}
		with := "none other"
		if p.Explanation != p.Name {
			with = "all named"
		}
		tolerance := "none declared"
		if p.Tolerance != "" {
			tolerance = "±" + num(p.Tolerance)
		}
		t.Rows = append(t.Rows, []string{p.Name, p.Unit, num(p.Specified), num(p.Value), interval, signed(p.Departure), tolerance, inside(p.Within), with})
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
		return "cannot be told"
	}
	return "not examined"
}

func explanationTable(u unit) document.Table {
	t := document.Table{
		Caption: "Explanations compared",
		Columns: columns("Free parameters", ">χ²", ">Degrees of freedom", ">p", ">AICc above the least", "Adopted"),
		Note:    "The explanation adopted is the simplest of those whose AICc is about the least: a parameter is freed only when the readings ask for it.",
	}
	for i, e := range u.Diagnosis.Explanations {
		adopted := ""
		if i == u.found.Diagnosis.Best {
			adopted = "adopted"
		}
		t.Rows = append(t.Rows, []string{e.Label, num(e.ChiSquared), fmt.Sprint(e.DOF), least(e.PValue), num(e.Above), adopted})
	}
	return t
}

// least prints a p-value, which is never nothing and never certain.
func least(p record.Number) string {
	switch {
	case p == "":
		return ""
	case p.Float() < 0.0005:
		return "< 0.001"
	case p.Float() >= 0.9995:
		return "> 0.999"
	}
	return num(record.Decimal(p.Float(), 3))
}

// equal is least in a sentence: "p = 0.010", "p < 0.001".
func equal(name string, p record.Number) string {
	s := least(p)
	if strings.ContainsAny(s, "<>") {
		return name + " " + s
	}
	return name + " = " + s
}
