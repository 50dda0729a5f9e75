package vocab

import (
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/rerun"
	"wedgework/reports/verify"
)

// Verification is what verify() found about one unit, as a cell holds it.
type Verification struct {
	opaque
	result *verify.Result
}

func (v *Verification) String() string {
	s := "<verification"
	if v.result.Unit != "" {
		s += " of unit " + v.result.Unit
	}
	for i, one := range rerun.Verdicts(v.result) {
		sep := ", "
		if i == 0 {
			sep = ": "
		}
		s += sep + one.Subject + " " + one.Outcome.String()
	}
	return s + ">"
}

// verificationsTable lists the verdicts of several verifications, a row each.
func verificationsTable(items []starlark.Value) (t document.Table, ok bool) {
	t = document.Table{Caption: "Verdicts", Columns: []document.Column{{Head: "unit"}}, Compact: true}
	for _, v := range items {
		one, isOne := v.(*Verification)
		if !isOne {
			return t, false
		}
		row := []string{one.result.Unit}
		for _, v := range rerun.Verdicts(one.result) {
			if len(t.Rows) == 0 {
				t.Columns = append(t.Columns, document.Column{Head: v.Subject})
			}
			row = append(row, v.Outcome.String())
		}
		t.Rows = append(t.Rows, row)
	}
	return t, len(t.Rows) > 0
}

// Attr returns a field or a method.
func (v *Verification) Attr(name string) (starlark.Value, error) {
	return verificationType.attr(v, name)
}

// AttrNames lists them.
func (v *Verification) AttrNames() []string { return verificationType.names(v) }

var verificationType = newType("verification", methodSet[*Verification]{},
	verdictAttr("agreement", "verdict: do the readings agree with the specified model?", 0),
	verdictAttr("conformity", "verdict: does the unit meet its limits?", 1),
	verdictAttr("quality", "verdict: are the data good enough to decide?", 2),
	boolAttr("passes", "whether all three verdicts are pass", func(v *Verification) bool {
		return !slices.ContainsFunc(rerun.Verdicts(v.result),
			func(one document.Verdict) bool { return one.Outcome != document.Pass })
	}),
	valueAttr("fitted", "dict", "fitted parameters, by path", func(v *Verification) (starlark.Value, error) {
		var paths []string
		var all []starlark.Value
		for _, p := range v.result.Diagnosis.Departures {
			paths, all = append(paths, p.Path), append(all, &Fitted{opaque{"fitted"}, p})
		}
		return frozen(dictOf(paths, all))
	}),
	textAttr("diagnosis", "explanation of the readings, in sentences",
		func(v *Verification) string { return v.result.Diagnosis.Sentence }),
	textsAttr("causes", "parameters outside their tolerances that the readings cannot distinguish",
		func(v *Verification) []string { return v.result.Diagnosis.Causes }),
	valueAttr("outliers", "list", "lines of the file with readings excluded from the fit as outliers",
		func(v *Verification) (starlark.Value, error) {
			var lines []starlark.Value
			for _, o := range v.result.Outliers {
				lines = append(lines, starlark.MakeInt(o.Line))
			}
			return starlark.NewList(lines), nil
		}),
	textsAttr("cautions", "warnings about the verdicts, a sentence each",
		func(v *Verification) []string { return v.result.Cautions }),
	tupleAttr("limits", "decision for each limit, with the measured figure", func(v *Verification) []*Decision {
		var all []*Decision
		for _, d := range v.result.Decisions {
			all = append(all, &Decision{opaque{"decision"}, d})
		}
		return all
	}),
	textAttr("unit", "serial number of the unit", func(v *Verification) string { return v.result.Unit }),
	textAttr("lot", "lot of the unit", func(v *Verification) string { return v.result.Lot }),
	textAttr("file", "file of the readings", func(v *Verification) string { return v.result.File }),
)

// verdictAttr is one of the three verdicts, in the order of rerun.Verdicts.
func verdictAttr(name, summary string, i int) attr[*Verification] {
	return valueAttr(name, "verdict", summary, func(v *Verification) (starlark.Value, error) {
		return &Verdict{opaque{"verdict"}, rerun.Verdicts(v.result)[i]}, nil
	})
}

func (v *Verification) blocks() []document.Block {
	r := v.result
	title := "Verification"
	if r.Unit != "" {
		title += " of unit " + r.Unit
	}
	blocks := []document.Block{document.Heading{Level: 3, Text: title}}
	for _, one := range rerun.Verdicts(r) {
		blocks = append(blocks, printed(one))
	}
	if len(r.Decisions) > 0 {
		blocks = append(blocks, decisionTable(r.Decisions))
	}
	if r.Diagnosis.Sentence != "" {
		blocks = append(blocks, document.Plain(document.Sentences(r.Diagnosis.Sentence)))
	}
	if len(r.Diagnosis.Departures) > 0 {
		blocks = append(blocks, departureTable(r.Diagnosis.Departures))
	}
	return append(blocks, cautions(r.Cautions)...)
}

func decisionTable(list []verify.Decision) document.Table {
	t := document.Table{
		Caption: "Limits",
		Columns: []document.Column{{Head: "limit"}, {Head: "measured", Align: document.Right},
			{Head: "margin", Align: document.Right}, {Head: "U", Align: document.Right}, {Head: "outcome"}},
	}
	level := func(v float64) string { return quantity.Of(v, "dB").Text(2) }
	for _, d := range list {
		row := []string{document.Brief(document.Signs(limitText(d.Limit))), "", "", "", d.Outcome.String()}
		if d.Decided {
			row[1], row[2], row[3] = level(d.Measured), level(d.Margin), level(d.Expanded)
			if d.AtLeast {
				row[1] = "≥ " + row[1]
			}
			if d.AtLeast && d.Expanded == 0 {
				row[3] = "none" // it is a bound at 95 % already
			}
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func departureTable(list []verify.Departure) document.Table {
	t := document.Table{
		Caption: "Fitted parameters",
		Columns: []document.Column{{Head: "parameter"}, {Head: "specified", Align: document.Right},
			{Head: "fitted", Align: document.Right}, {Head: "from", Align: document.Right}, {Head: "to", Align: document.Right}},
		Note: "From and to: coverage interval (95.45 %).",
	}
	for _, p := range list {
		f := &Fitted{departure: p}
		high := "no bound"
		if !p.AtLeast {
			high = sensible(f.in(p.High))
		}
		t.Rows = append(t.Rows, []string{p.Path, sensible(p.Nominal), sensible(f.in(p.Value)), sensible(f.in(p.Low)), high})
	}
	return t
}

// Verdict is one of the three judgements; it is true when it passes.
type Verdict struct {
	opaque
	verdict document.Verdict
}

// blocks show the verdict as the page of a report does.
func (v *Verdict) blocks() []document.Block { return []document.Block{printed(v.verdict)} }

// printed puts a verdict's sentence as a page has it.
func printed(v document.Verdict) document.Verdict {
	v.Sentence = document.Sentence(v.Sentence)
	return v
}

func (v *Verdict) String() string {
	return "<" + v.verdict.Outcome.String() + ": " + v.verdict.Sentence + ">"
}

// Truth is whether the verdict passes; undecided is not a pass.
func (v *Verdict) Truth() starlark.Bool { return v.verdict.Outcome == document.Pass }

// Attr returns a field or a method.
func (v *Verdict) Attr(name string) (starlark.Value, error) { return verdictType.attr(v, name) }

// AttrNames lists them.
func (v *Verdict) AttrNames() []string { return verdictType.names(v) }

var verdictType = newType("verdict", methodSet[*Verdict]{},
	textAttr("outcome", "pass, fail or undecided", func(v *Verdict) string { return v.verdict.Outcome.String() }),
	textAttr("sentence", "reason, with figures", func(v *Verdict) string { return v.verdict.Sentence }),
)

// Fitted is a parameter that the diagnosis adjusted.
type Fitted struct {
	opaque
	departure verify.Departure
}

func (f *Fitted) in(v float64) quantity.Quantity {
	return quantity.Quantity{Value: v, Unit: f.departure.Unit}
}

func (f *Fitted) String() string {
	d := f.departure
	if d.AtLeast {
		return fmt.Sprintf("<%s at least %s>", d.Path, sensible(f.in(d.Low)))
	}
	return fmt.Sprintf("<%s = %s, %s to %s>",
		d.Path, sensible(f.in(d.Value)), sensible(f.in(d.Low)), sensible(f.in(d.High)))
}

// Attr returns a field or a method.
func (f *Fitted) Attr(name string) (starlark.Value, error) { return fittedType.attr(f, name) }

// AttrNames lists them.
func (f *Fitted) AttrNames() []string { return fittedType.names(f) }

var fittedType = newType("fitted", methodSet[*Fitted]{},
	textAttr("path", "path of the parameter", func(f *Fitted) string { return f.departure.Path }),
	fittedAttr("value", "fitted value", func(d verify.Departure) float64 { return d.Value }),
	fittedAttr("low", "lower end of the coverage interval (95.45 %)", func(d verify.Departure) float64 { return d.Low }),
	fittedAttr("high", "upper end of the coverage interval (95.45 %); None if only a lower bound is known",
		func(d verify.Departure) float64 { return d.High }).
		when(func(f *Fitted) bool { return !f.departure.AtLeast }),
	quantityAttr("specified", "specified value", func(f *Fitted) quantity.Quantity { return f.departure.Nominal }),
	fittedAttr("departure", "fitted minus specified value", func(d verify.Departure) float64 { return d.Departure }),
	fittedAttr("uncertainty", "expanded uncertainty of the departure", func(d verify.Departure) float64 { return d.U }),
	boolAttr("significant", "whether the departure exceeds its expanded uncertainty",
		func(f *Fitted) bool { return f.departure.Significant }),
	textAttr("within", "whether the fitted value is within its tolerance: pass, fail or undecided",
		func(f *Fitted) string { return f.departure.Within.String() }),
)

func fittedAttr(name, summary string, get func(verify.Departure) float64) attr[*Fitted] {
	return quantityAttr(name, summary, func(f *Fitted) quantity.Quantity { return f.in(get(f.departure)) })
}

func (f *Fitted) blocks() []document.Block {
	return []document.Block{departureTable([]verify.Departure{f.departure})}
}
