package compose

import (
	"fmt"
	"slices"

	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/verify"
)

// comparison shows the readings over the model, what is left between them, and the declared figures that the
// verdict on agreement rests on.
func comparison(u unit) []document.Block {
	r := u.found
	var b []document.Block
	if len(r.Points) > 0 {
		b = append(b, isolationFigure(r), residuals(r))
	}
	if len(r.Losses) > 0 {
		b = append(b, lossFigure(r))
	}
	if len(r.Figures) > 0 {
		b = append(b, figureTable(u))
	}
	return b
}

// residuals are a figure, or a sentence where no reading has a normalized error to draw.
func residuals(r *verify.Result) document.Block {
	if slices.ContainsFunc(r.Points, func(q verify.Point) bool { return !q.Censored }) {
		return residualFigure(r)
	}
	return document.Plain("Every backward reading says \"at least\", so there is no normalized error to draw.")
}

func figureTable(u unit) document.Table {
	t := document.Table{
		Caption: "Declared figures, measured against modelled",
		Columns: columns("Figure", "Where", ">Measured", ">95 % interval", ">As specified", ">En", ">As diagnosed", ">En"),
		Note:    "The verdict on model agreement rests on these. En of an isolation is taken in leak amplitude: it is positive where the unit leaks more than the model.",
	}
	if !u.found.Diagnosis.Fitted {
		t.Columns = t.Columns[:6]
	}
	if j := u.found.Joint; j.Count > 0 {
		t.Note += fmt.Sprintf(" Taken together with their covariance, %s give χ² = %s against the model as specified (%s).",
			independent(u), num(record.Decimal(j.ChiSquared, 1)), equal("p", record.Decimal(j.PValue, 3)))
	}
	for _, f := range u.Figures {
		name := f.Name + " (" + f.Unit + ")"
		if f.Why != "" {
			t.Rows = append(t.Rows, append([]string{name, document.Brief(f.At), "none"}, make([]string, len(t.Columns)-3)...))
			t.Note += fmt.Sprintf(" No %s, %s: %s", f.Name, document.Brief(f.At), document.Sentence(f.Why))
			continue
		}
		row := []string{name, document.Brief(f.At), num(f.Measured.Value), between(f.Measured.Low, f.Measured.High),
			num(f.Specified.Value), num(f.Specified.NormalizedError)}
		if f.Diagnosed != nil {
			row = append(row, num(f.Diagnosed.Value), num(f.Diagnosed.NormalizedError))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// independent counts the figures of the joint test: one that follows from others, as the shift of the peak does, is
// no witness of its own.
func independent(u unit) string {
	n, determined := u.found.Joint.Count, 0
	for _, f := range u.found.Figures {
		if f.Determined {
			determined++
		}
	}
	if n == determined {
		return fmt.Sprintf("all %d", n)
	}
	return fmt.Sprintf("the %d that do not follow from others", n)
}
