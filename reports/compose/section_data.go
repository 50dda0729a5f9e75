package compose

import (
	"fmt"

	"wedgework/reports/document"
)

// uncertainty gives the budget of each declared figure.
func uncertainty(s Source) []document.Section {
	return each(s, "Uncertainty budget", func(u unit) []document.Block {
		var b []document.Block
		for _, f := range u.Budgets {
			t := document.Table{
				Caption: fmt.Sprintf("%s: expanded uncertainty %s %s, k = %s", capital(f.Figure), num(f.Expanded), f.Unit, num(f.K)),
				Columns: columns("Contribution", ">Value", "Distribution", ">Divisor", "Shared by", ">u/"+f.Unit),
			}
			for _, c := range f.Contributions {
				t.Rows = append(t.Rows, []string{plainName(c.Name), c.Value, c.Distribution, num(c.Divisor), c.Shared, num(c.Standard)})
			}
			t.Rows = append(t.Rows, []string{"combined", "", "", "", "", num(f.Standard)})
			b = append(b, t)
		}
		if len(b) > 0 {
			b = append([]document.Block{document.Plain("Evaluated after JCGM 100 (GUM). A contribution shared by all readings of a run, or by all runs, is carried as a correlation through the fit, chi-squared and E_n.")}, b...)
		}
		return b
	})
}

// data tells how the unit was measured and what was found wrong with it.
func data(s Source) []document.Section {
	return each(s, "Measurement", func(u unit) []document.Block {
		f := document.Fields{Caption: "As the file of readings states it"}
		for _, m := range u.found.Meta {
			f.Rows = append(f.Rows, document.Field{Name: m[0], Value: m[1]})
		}
		runs := document.Table{Caption: "Sweeps", Columns: columns("Temperature", "Wavelengths", ">Backward readings", ">Forward readings")}
		for _, run := range u.found.Runs {
			runs.Rows = append(runs.Rows, []string{celsius(run.Temperature), fmt.Sprintf("%s to %s nm", nm(run.Low), nm(run.High)),
				fmt.Sprint(run.Isolations), fmt.Sprint(run.Losses)})
		}
		checks := document.Table{Caption: "Examination of the data", Columns: columns("Check", "Outcome", "Finding")}
		for _, c := range u.found.Checks {
			checks.Rows = append(checks.Rows, []string{c.Name, c.Outcome.String(), c.Sentence})
		}
		b := []document.Block{
			document.Plain("Attenuation after IEC 61300-3-4, polarization dependence after IEC 61300-3-2, isolation as the backward loss of IEC 61202-1. Losses in dB are positive; connectors are excluded."),
			f, runs, checks,
		}
		if len(u.Notes) > 0 {
			var items [][]document.Block
			for _, n := range u.Notes {
				items = append(items, []document.Block{document.Plain(set(n))})
			}
			b = append(b, document.Heading{Level: 2, Text: "How the numbers were come by"}, document.List{Items: items})
		}
		return b
	})
}
