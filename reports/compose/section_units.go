package compose

import (
	"fmt"

	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/verify"
)

// reading says what the pages of the units have in common, and where the rest is to be found.
func reading(s Source) document.Section {
	intro := "Limits are in dB. " + limitNote
	if all := s.units(); oneRule(all) {
		intro += rules(all[0])
	}
	return document.Section{Title: "How to read this report", Level: 1, Blocks: []document.Block{
		document.Plain(intro),
		document.Plain(fmt.Sprintf("What the units show together comes first, then a page for each; of a unit that does not pass, what was found follows its page. What is common to all stands once, after them. "+
			"The readings themselves lie in the files attached to this PDF. Of every unit the record attached, %s, holds the declared figures against the model, the parameters fitted, the explanations tried, "+
			"the budgets and what the leak is made of; a report of one unit alone draws them too.", record.FileName)),
	}}
}

// pages has a compact page for each of several units: verdicts, what explains the readings, limits, isolation. What all
// share stands once, elsewhere. Of a unit that does not pass, what was found follows.
func pages(s Source) []document.Section {
	all := s.units()
	common := oneRule(all)
	out := []document.Section{{Title: "Units one by one", Level: 1}}
	for _, u := range all {
		out = append(out, document.Section{Title: "Unit " + u.name(), Level: 2, Together: true, Blocks: onePage(u, common)})
		if !u.passes() {
			out = append(out, document.Section{Title: "Unit " + u.name() + ": what was found", Level: 2, Blocks: inDetail(u)})
		}
	}
	return out
}

// onePage is what a reviewer needs of one unit.
func onePage(u unit, common bool) []document.Block {
	var b []document.Block
	for _, v := range u.verdicts() {
		b = append(b, v)
	}
	if d := u.found.Diagnosis; d.Sentence != "" {
		b = append(b, document.Plain(document.Sentences(d.Sentence)))
	}
	if len(u.Limits) > 0 {
		t := limitTable(u)
		if common {
			t.Note = particulars(u)
		} else {
			t.Note = rules(u) + particulars(u)
		}
		b = append(b, t)
	}
	if len(u.found.Points) > 0 {
		b = append(b, smallIsolation(u.found))
	}
	return b
}

// inDetail is what a unit that does not pass needs besides: the figures its verdict rests on, and what explains them. Its
// tables stand close, so that it does not take three pages.
func inDetail(u unit) []document.Block {
	var b []document.Block
	if len(u.Figures) > 0 {
		b = append(b, figureTable(u))
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
	f := p.Figure("Isolation over wavelength, one panel a temperature: readings net of the fixture's floor, the model as specified, each with its expanded uncertainty, the model as diagnosed, and the limits." + arrows(r))
	f.Height = vg.Length(10+62*((len(p.Charts)-1)/p.Columns+1)) * vg.Millimeter
	return f
}
