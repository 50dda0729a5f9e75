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

// Attr returns a verdict, what was fitted, or what the verification says of itself.
func (v *Verification) Attr(name string) (starlark.Value, error) {
	r := v.result
	switch name {
	case "agreement", "conformity", "quality":
		return newVerdict(r, name), nil
	case "passes":
		pass := true
		for _, one := range rerun.Verdicts(r) {
			pass = pass && one.Outcome == document.Pass
		}
		return starlark.Bool(pass), nil
	case "unit":
		return starlark.String(r.Unit), nil
	case "lot":
		return starlark.String(r.Lot), nil
	case "file":
		return starlark.String(r.File), nil
	case "diagnosis":
		return starlark.String(r.Diagnosis.Sentence), nil
	case "causes":
		return texts(r.Diagnosis.Causes), nil
	case "outliers":
		var lines []starlark.Value
		for _, o := range r.Outliers {
			lines = append(lines, starlark.MakeInt(o.Line))
		}
		return starlark.NewList(lines), nil
	case "cautions":
		return texts(r.Cautions), nil
	case "limits":
		var all starlark.Tuple
		for _, d := range r.Decisions {
			all = append(all, &Decision{opaque{"decision"}, d})
		}
		return all, nil
	case "fitted":
		d := starlark.NewDict(len(r.Diagnosis.Departures))
		for _, p := range r.Diagnosis.Departures {
			if err := d.SetKey(starlark.String(p.Path), &Fitted{opaque{"fitted"}, p}); err != nil {
				return nil, err
			}
		}
		d.Freeze()
		return d, nil
	}
	return nil, nil
}

// AttrNames lists the fields.
func (v *Verification) AttrNames() []string {
	return []string{"agreement", "causes", "cautions", "conformity", "diagnosis", "file", "fitted", "limits", "lot", "outliers", "passes", "quality", "unit"}
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
		Columns: []document.Column{{Head: "limit"}, {Head: "measured", Align: document.Right}, {Head: "margin", Align: document.Right}, {Head: "U", Align: document.Right}, {Head: "outcome"}},
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
		Columns: []document.Column{{Head: "parameter"}, {Head: "specified", Align: document.Right}, {Head: "fitted", Align: document.Right}, {Head: "from", Align: document.Right}, {Head: "to", Align: document.Right}},
		Note:    "From and to enclose 95 %.",
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

func (v *Verification) json() any { return attributes(v) }

// Verdict is one of the three judgements; it is true when it passes.
type Verdict struct {
	opaque
	verdict document.Verdict
}

// newVerdict returns the verdict that an attribute names: agreement, conformity or quality.
func newVerdict(r *verify.Result, attribute string) *Verdict {
	i := slices.Index([]string{"agreement", "conformity", "quality"}, attribute)
	return &Verdict{opaque{"verdict"}, rerun.Verdicts(r)[i]} // in this order
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

// Attr returns .outcome, "pass", "fail" or "undecided", or .sentence.
func (v *Verdict) Attr(name string) (starlark.Value, error) {
	switch name {
	case "outcome":
		return starlark.String(v.verdict.Outcome.String()), nil
	case "sentence":
		return starlark.String(v.verdict.Sentence), nil
	}
	return nil, nil
}

// AttrNames lists the fields.
func (v *Verdict) AttrNames() []string { return []string{"outcome", "sentence"} }

func (v *Verdict) json() any {
	return map[string]any{"outcome": v.verdict.Outcome.String(), "sentence": v.verdict.Sentence}
}

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
	return fmt.Sprintf("<%s = %s, %s to %s>", d.Path, sensible(f.in(d.Value)), sensible(f.in(d.Low)), sensible(f.in(d.High)))
}

// Attr returns the fitted value, the ends of its 95 % interval, what was specified, the departure from it
// and its expanded uncertainty. A parameter known only from below has no high.
func (f *Fitted) Attr(name string) (starlark.Value, error) {
	d := f.departure
	switch name {
	case "path":
		return starlark.String(d.Path), nil
	case "value":
		return fromQuantity(f.in(d.Value)), nil
	case "low":
		return fromQuantity(f.in(d.Low)), nil
	case "high":
		if d.AtLeast {
			return starlark.None, nil
		}
		return fromQuantity(f.in(d.High)), nil
	case "specified":
		return fromQuantity(d.Nominal), nil
	case "departure":
		return fromQuantity(f.in(d.Departure)), nil
	case "uncertainty":
		return fromQuantity(f.in(d.U)), nil
	case "significant":
		return starlark.Bool(d.Significant), nil
	case "within":
		return starlark.String(d.Within.String()), nil
	}
	return nil, nil
}

// AttrNames lists the fields.
func (f *Fitted) AttrNames() []string {
	return []string{"departure", "high", "low", "path", "significant", "specified", "uncertainty", "value", "within"}
}

func (f *Fitted) blocks() []document.Block {
	return []document.Block{departureTable([]verify.Departure{f.departure})}
}

func (f *Fitted) json() any { return attributes(f) }
