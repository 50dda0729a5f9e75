package compose

import (
	"fmt"
	"slices"

	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/verify"
)

// reading says what the pages of the units have in common, and where the rest is to be found.
func reading(s Source) document.Section {
	intro := limitNote
	if all := s.units(); oneRule(all) {
		intro += rules(all[0].Unit)
	}
	return document.Section{Title: "How to read this report", Level: 1, Blocks: []document.Block{
		document.Plain(intro),
		document.Plain(fmt.Sprintf("The results of the lot come first, then a page for each unit; the page of a unit "+
			"that fails is followed by its details, and a unit that is undecided has no figure. Content common to "+
			"all units is printed once, after them. The readings are in the files attached to this PDF. For every "+
			"unit, the attached record, %s, holds the key figures compared with the model, the fitted parameters, "+
			"the candidate explanations, the uncertainty budgets and the contributions to the leakage; a report of a "+
			"single unit also plots them.", record.FileName)),
	}}
}

// pages has a compact page for each of several units: verdicts, what explains the readings, limits, isolation. What all
// share stands once, elsewhere. Of a unit that fails, what was found follows; one that is undecided takes half a page:
// what it lacks is said by its limits.
func pages(s Source) []document.Section {
	all := s.units()
	common := oneRule(all)
	out := []document.Section{{Title: "Units one by one", Level: 1}}
	for _, u := range all {
		out = append(out, document.Section{Title: "Unit " + u.Called(), Level: 2, Together: true,
			Blocks: onePage(u, common)})
		if fails(u) {
			out = append(out, document.Section{Title: "Unit " + u.Called() + ": details", Level: 2,
				Blocks: inDetail(u)})
		}
	}
	return out
}

// fails reports whether one of the judgements of a unit does.
func fails(u unit) bool {
	return slices.ContainsFunc(u.Verdicts, func(v record.Verdict) bool { return v.Outcome == document.Fail.String() })
}

// onePage is what a reviewer needs of one unit.
func onePage(u unit, common bool) []document.Block {
	var b []document.Block
	for _, v := range verdicts(u.Unit) {
		b = append(b, v)
	}
	if d := u.Diagnosis; d.Sentence != "" {
		b = append(b, document.Plain(document.Sentences(d.Sentence)))
	}
	if len(u.Limits) > 0 {
		t := LimitTable(u.Unit)
		t.Note = particulars(u.Unit)
		if !common {
			t.Note = rules(u.Unit) + t.Note
		}
		b = append(b, t)
	}
	if len(u.found.Points) > 0 && (fails(u) || u.Passes()) {
		b = append(b, worded(smallIsolation(u.found), panelled(u.found, "isolation in dB against wavelength in nm, "+
			"measured and modelled"), isolationResults(u)))
	}
	return b
}

// inDetail is what a unit that does not pass needs besides: the figures its verdict rests on, and what explains them.
// Its tables stand close, so that it does not take three pages.
func inDetail(u unit) []document.Block {
	var b []document.Block
	if len(u.Figures) > 0 {
		b = append(b, figureTable(u.Unit))
	}
	if len(u.found.Points) > 0 {
		b = append(b, residuals(u.found))
	}
	b = append(b, explained(u, false)...)
	for i := range b {
		switch x := b[i].(type) {
		case document.Table:
			x.Compact = true
			b[i] = x
		case document.Figure:
			x.Height = min(x.Height, 105*vg.Millimeter)
			b[i] = x
		}
	}
	return b
}

// smallIsolation is the picture of isolationFigure on a third of its height, the temperatures beside each other.
func smallIsolation(r *verify.Result) document.Figure {
	p := isolationPanels(r)
	p.Columns, p.ShareY = min(3, len(p.Charts)), true
	f := p.Figure("Isolation against wavelength, one panel per temperature: readings (fixture floor subtracted) and " +
		"specified model, each with its expanded uncertainty, fitted model, and limits." + arrows(r))
	f.Height = vg.Length(10+62*((len(p.Charts)-1)/p.Columns+1)) * vg.Millimeter
	return f
}
