package compose

import (
	"fmt"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/verify"
)

// diagnosis says which physical parameters explain the readings, and what else would.
func diagnosis(s Source) []document.Section {
	return each(s, "Diagnosis", func(r *verify.Result) []document.Block {
		d := r.Diagnosis
		if !d.Fitted {
			return nil
		}
		b := []document.Block{document.Plain(set(d.Sentence))}
		if len(d.Departures) > 0 {
			b = append(b, departureTable(d))
		}
		b = append(b, explanationTable(d))
		if d.Note != "" {
			b = append(b, document.Plain(set(d.Note)))
		}
		return b
	})
}

func departureTable(d verify.Diagnosis) document.Table {
	t := document.Table{
		Caption: "Parameters of the explanation adopted",
		Columns: columns("Parameter", ">Specified", ">Fitted", ">95 % interval", ">Departure", ">Tolerance", "Within tolerance"),
	}
	for _, p := range d.Departures {
		unit := p.Unit.Symbol()
		with := func(s string) string { return strings.TrimSpace(s + " " + unit) }
		if p.Indeterminate {
			t.Rows = append(t.Rows, []string{p.Path, p.Nominal.String(), "not determined", "", "", tolerance(p), "undecided"})
			continue
		}
		n := decimals(p.U, 4)
		row := []string{p.Path, p.Nominal.String(), with(fixed(p.Value, n)), fixed(p.Low, n) + " to " + fixed(p.High, n),
			with(signed(p.Departure, n)), tolerance(p), p.Within.String()}
		if p.AtLeast {
			row[2], row[3], row[4] = with("at least "+fixed(p.Low, 1)), "", ""
		}
		t.Rows = append(t.Rows, row)
		for _, a := range p.Alike {
			t.Note += fmt.Sprintf(" An error of %s looks the same in this data (correlation %s).", a.Path, fixed(a.Correlation, 3))
		}
		if p.Combination != "" {
			t.Note += fmt.Sprintf(" The data fix %s only as a whole.", p.Combination)
		}
	}
	t.Note = strings.TrimSpace(t.Note)
	return t
}

func tolerance(p verify.Departure) string {
	if p.Tolerance == 0 {
		return "none declared"
	}
	return strings.TrimSpace("±" + compact(p.Tolerance) + " " + p.Unit.Symbol())
}

func explanationTable(d verify.Diagnosis) document.Table {
	t := document.Table{
		Caption: "Explanations compared",
		Columns: columns("Free parameters", ">χ²", ">Degrees of freedom", ">p", ">AICc above best"),
		Note:    "The explanation adopted is the simplest of those whose AICc is about the least: a parameter is freed only when the readings ask for it.",
	}
	for i, e := range d.Explanations {
		label := e.Label
		if i == d.Best {
			label += " (adopted)"
		}
		if !e.Converged {
			label += ", not converged"
		}
		t.Rows = append(t.Rows, []string{label, fixed(e.ChiSquared, 1), fmt.Sprint(e.DOF), chance(e.PValue), fixed(e.Delta, 1)})
	}
	return t
}
