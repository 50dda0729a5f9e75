package compose

import (
	"fmt"
	"math"

	"wedgework/reports/document"
	"wedgework/reports/verify"
)

// uncertainty gives the budget of each declared figure.
func uncertainty(s Source) []document.Section {
	return each(s, "Uncertainty budget", func(r *verify.Result) []document.Block {
		var b []document.Block
		for _, f := range r.Budgets {
			t := document.Table{
				Caption: fmt.Sprintf("%s, expanded uncertainty %s %s (k = %s)", capital(f.Figure), fixed(f.Expanded, decimals(f.Expanded, 4)), f.Unit, fixed(f.K, 2)),
				Columns: columns("Contribution", ">Value", "Distribution", ">Standard", ">Sensitivity", ">u/"+f.Unit, "Shared by", ">Share"),
			}
			for _, l := range f.Lines {
				t.Rows = append(t.Rows, []string{l.Name, l.Value.String(), string(l.Distribution), significant(l.Standard, 3), significant(l.Sensitivity, 3),
					significant(l.Contribution, 3), string(l.Shared), fixed(100*l.Share, 0) + " %"})
			}
			b = append(b, t)
		}
		if len(b) > 0 {
			b = append([]document.Block{document.Plain("Evaluated after JCGM 100 (GUM). A contribution shared by all readings of a run, or by all runs, is carried as a correlation through the fit, chi-squared and E_n.")}, b...)
		}
		return b
	})
}

// significant prints v with n significant digits.
func significant(v float64, n int) string {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return "0"
	}
	return fixed(v, max(n-1-int(math.Floor(math.Log10(math.Abs(v)))), 0))
}

// data tells how the unit was measured and what was found wrong with it.
func data(s Source) []document.Section {
	return each(s, "Measurement", func(r *verify.Result) []document.Block {
		f := document.Fields{Caption: "As the file of readings states it"}
		for _, m := range r.Meta {
			f.Rows = append(f.Rows, document.Field{Name: m[0], Value: m[1]})
		}
		runs := document.Table{Caption: "Sweeps", Columns: columns("Temperature", "Wavelengths", ">Backward readings", ">Forward readings")}
		for _, run := range r.Runs {
			runs.Rows = append(runs.Rows, []string{celsius(run.Temperature), fmt.Sprintf("%s to %s nm", nm(run.Low), nm(run.High)),
				fmt.Sprint(run.Isolations), fmt.Sprint(run.Losses)})
		}
		checks := document.Table{Caption: "Examination of the data", Columns: columns("Check", "Outcome", "Finding")}
		for _, c := range r.Checks {
			checks.Rows = append(checks.Rows, []string{c.Name, c.Outcome.String(), c.Sentence})
		}
		b := []document.Block{
			document.Plain("Attenuation after IEC 61300-3-4, polarization dependence after IEC 61300-3-2, isolation as the backward loss of IEC 61202-1. Losses in dB are positive; connectors are excluded."),
			f, runs, checks,
		}
		if len(r.Notes) > 0 {
			var items [][]document.Block
			for _, n := range r.Notes {
				items = append(items, []document.Block{document.Plain(set(n))})
			}
			b = append(b, document.Heading{Level: 2, Text: "How the numbers were come by"}, document.List{Items: items})
		}
		return b
	})
}
