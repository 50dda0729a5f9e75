package compose

import (
	"fmt"
	"slices"
	"strings"

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
		b = append(b, worded(isolationFigure(r), panelled(r, "isolation in dB against wavelength in nm, measured and "+
			"modelled"), isolationResults(u)), residuals(r))
	}
	if len(r.Losses) > 0 {
		b = append(b, worded(lossFigure(r), panelled(r, "insertion loss in dB against wavelength in nm, measured and "+
			"modelled"), lossResults(u)))
	}
	if len(r.Figures) > 0 {
		b = append(b, figureTable(u.Unit))
	}
	return b
}

// residuals are a figure, or a sentence where no reading has a normalized error to draw.
func residuals(r *verify.Result) document.Block {
	if slices.ContainsFunc(r.Points, func(q verify.Point) bool { return !q.Censored }) {
		return worded(residualFigure(r), "residuals in leakage amplitude, and normalized errors En, against "+
			"wavelength in nm", residualResults(r))
	}
	return document.Plain("Every backward reading is a lower bound, so there is no normalized error to plot.")
}

func figureTable(u record.Unit) document.Table {
	t := document.Table{
		Caption: "Key figures, measured and modelled",
		Columns: columns("Figure", "Conditions", ">Measured", ">95.45 % interval", ">Specified model", ">En",
			">Fitted model", ">En"),
		Note: "The model-agreement verdict is based on these figures. The interval is the coverage interval of the " +
			"measured figure. En, the normalized error (ISO 13528), is the difference over the root sum of squares " +
			"of both expanded uncertainties. For isolation it is taken in leakage amplitude: positive means more " +
			"leakage than the model. Both models average ripple from double reflections over its phases.",
	}
	if !u.Diagnosis.Made() {
		t.Columns = t.Columns[:6]
	}
	if slices.ContainsFunc(u.Figures, overSweep) {
		t.Note += " PDL and DGD over a sweep are root mean squares, with En taken of their squares; return loss over " +
			"a sweep is computed from the mean power; En compares powers."
	}
	if j := u.Joint; j != nil {
		t.Note += fmt.Sprintf(" Jointly, with their covariance, %s give χ² = %s for the specified model (%s).",
			independent(*j), j.ChiSquared.Text(), j.PValue.Equation("p"))
	}
	for _, f := range u.Figures {
		name := f.Name + " (" + f.Unit + ")"
		if f.Why != "" {
			t.Rows = append(t.Rows, append([]string{name, document.Brief(f.At), "none"},
				make([]string, len(t.Columns)-3)...))
			t.Note += fmt.Sprintf(" No %s (%s): %s", f.Name, document.Brief(f.At), document.Sentence(f.Why))
			continue
		}
		row := []string{name, document.Brief(f.At), f.Measured.Value.Text(), record.Between(f.Measured.Low,
			f.Measured.High),
			f.Specified.Value.Text(), f.Specified.NormalizedError.Text()}
		if f.Diagnosed != nil {
			row = append(row, f.Diagnosed.Value.Text(), f.Diagnosed.NormalizedError.Text())
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// overSweep reports whether all readings of a sweep enter a figure.
func overSweep(f record.Compared) bool { return strings.HasSuffix(f.Name, " over the sweep") }

// independent counts the figures of the joint test: one that follows from others, as the shift of the peak does, is
// no witness of its own.
func independent(j record.Joint) string {
	if j.Figures == j.Of {
		return fmt.Sprintf("all %d figures", j.Figures)
	}
	return fmt.Sprintf("the %d figures not derived from others", j.Figures)
}
