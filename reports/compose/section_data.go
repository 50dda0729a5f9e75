package compose

import (
	"fmt"

	"wedgework/reports/document"
)

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
			checks.Rows = append(checks.Rows, []string{c.Name, c.Outcome.String(), document.Brief(c.Sentence)})
		}
		b := []document.Block{
			document.Plain("Attenuation after IEC 61300-3-4, polarization dependence after IEC 61300-3-2, isolation as the backward loss of IEC 61202-1. Losses in dB are positive; connectors are excluded."),
			f, runs, checks,
		}
		if len(u.Notes) > 0 {
			var items [][]document.Block
			for _, n := range u.Notes {
				items = append(items, []document.Block{document.Plain(document.Sentence(n))})
			}
			b = append(b, document.Heading{Level: 2, Text: "How the numbers were come by"}, document.List{Items: items})
		}
		return b
	})
}
