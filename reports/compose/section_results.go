package compose

import (
	"fmt"
	"math"

	"wedgework/reports/document"
	"wedgework/reports/verify"
)

// results is what a reviewer signs: the diagnosis in one sentence and the limits with their margins.
func results(s Source) []document.Section {
	return each(s, "Result", func(r *verify.Result) []document.Block {
		var b []document.Block
		if d := r.Diagnosis; d.Sentence != "" {
			b = append(b, document.Plain(set(d.Sentence)))
		}
		if len(r.Decisions) > 0 {
			b = append(b, limitTable(r))
		}
		return append(b, document.Signatures{Rows: []document.Signature{{Role: "Prepared"}, {Role: "Reviewed"}, {Role: "Approved"}}})
	})
}

func limitTable(r *verify.Result) document.Table {
	t := document.Table{
		Caption: "Limits, and the figure held against each",
		Columns: columns("Quantity", "Where", ">Limit/dB", ">Measured/dB", ">U/dB", ">Margin/dB", ">Conformance", "Outcome"),
		Note:    "U is the expanded uncertainty.",
	}
	for _, d := range r.Decisions {
		row := []string{named(d.Limit.Quantity), where(d.Limit), rule(d.Limit), "none", "", "", "", d.Outcome.String()}
		if d.Decided {
			read := fixed(d.Measured, 2)
			if d.AtLeast {
				read = "at least " + read
			}
			row[3], row[4], row[5] = read, fixed(d.Expanded, 2), signed(d.Margin, 2)
			row[6] = probability(d.Conformance)
		}
		t.Rows = append(t.Rows, row)
		if !d.Covered {
			t.Note += fmt.Sprintf(" %s over %s is not wholly measured: %s.", capital(named(d.Limit.Quantity)), where(d.Limit), d.Uncovered)
		}
	}
	if len(r.Decisions) > 0 {
		t.Note += " Rule: " + signs(r.Decisions[0].RuleText) + "."
	}
	for _, d := range r.Decisions {
		if d.Decided && math.Abs(d.Bias) >= 0.005 {
			t.Note += fmt.Sprintf(" The %s at %s nm, %s is expected to read %s dB from the true figure because of its noise; it is not corrected.",
				d.Statistic, nm(d.Wavelength), celsius(d.Temperature), signed(d.Bias, 2))
		}
	}
	return t
}

// probability prints a chance in percent, without claiming certainty.
func probability(p float64) string {
	switch {
	case p > 0.999:
		return "> 99.9 %"
	case p < 0.001:
		return "< 0.1 %"
	}
	return fixed(100*p, 1) + " %"
}
