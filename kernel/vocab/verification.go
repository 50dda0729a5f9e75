package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/compose"
	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/recording"
	"wedgework/reports/verify"
)

// Verification is what verify() found about one unit, as a cell holds it.
type Verification struct {
	opaque
	result *verify.Result
	spec   verify.Spec // what was verified, for further readings
}

// record has the numbers and words that are printed: those of the report.
func (v *Verification) record() record.Unit { return recording.Unit(v.result, nil) }

func (v *Verification) blocks() []document.Block {
	return append(compose.Card(v.record()), cautions(v.result.Cautions)...)
}

func (v *Verification) String() string {
	s := "<verification"
	if v.result.Unit != "" {
		s += " of unit " + v.result.Unit
	}
	for i, one := range v.record().Verdicts {
		sep := ", "
		if i == 0 {
			sep = ": "
		}
		s += sep + one.Subject + " " + one.Outcome
	}
	return s + ">"
}

// verificationsTable lists the verdicts of several verifications, a row each.
func verificationsTable(items []starlark.Value) (t document.Table, ok bool) {
	var units []record.Unit
	for _, v := range items {
		one, isOne := v.(*Verification)
		if !isOne {
			return t, false
		}
		units = append(units, one.record())
	}
	return compose.Outcomes(units), len(units) > 0
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
	boolAttr("passes", "whether all three verdicts are pass",
		func(v *Verification) bool { return v.record().Passes() }),
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

// verdictAttr is one of the three verdicts, in the order of the record.
func verdictAttr(name, summary string, i int) attr[*Verification] {
	return valueAttr(name, "verdict", summary, func(v *Verification) (starlark.Value, error) {
		return &Verdict{opaque{"verdict"}, v.record().Verdicts[i]}, nil
	})
}

// Verdict is one of the three judgements; it is true when it passes.
type Verdict struct {
	opaque
	verdict record.Verdict
}

// blocks show the verdict as the page of a report does.
func (v *Verdict) blocks() []document.Block { return []document.Block{compose.Verdict(v.verdict)} }

func (v *Verdict) String() string {
	return "<" + v.verdict.Outcome + ": " + v.verdict.Sentence + ">"
}

// Truth is whether the verdict passes; undecided is not a pass.
func (v *Verdict) Truth() starlark.Bool { return v.verdict.Outcome == document.Pass.String() }

// Attr returns a field or a method.
func (v *Verdict) Attr(name string) (starlark.Value, error) { return verdictType.attr(v, name) }

// AttrNames lists them.
func (v *Verdict) AttrNames() []string { return verdictType.names(v) }

var verdictType = newType("verdict", methodSet[*Verdict]{},
	textAttr("outcome", "pass, fail or undecided", func(v *Verdict) string { return v.verdict.Outcome }),
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
	r := recording.Fitted(f.departure)
	if r.High == "" {
		return fmt.Sprintf("<%s at least %s %s>", r.Name, r.Low.Text(), r.Unit)
	}
	return fmt.Sprintf("<%s = %s %s, %s to %s %s>", r.Name, r.Value.Text(), r.Unit, r.Low.Text(), r.High.Text(), r.Unit)
}

// Attr returns a field or a method.
func (f *Fitted) Attr(name string) (starlark.Value, error) { return fittedType.attr(f, name) }

// AttrNames lists them.
func (f *Fitted) AttrNames() []string { return fittedType.names(f) }

var fittedType = newType("fitted", methodSet[*Fitted]{},
	textAttr("path", "path of the parameter", func(f *Fitted) string { return f.departure.Path }),
	fittedAttr("value", "fitted value", func(d verify.Departure) float64 { return d.Value }),
	fittedAttr("low", "lower end of the coverage interval (95.45 %)",
		func(d verify.Departure) float64 { return d.Low }),
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
	return []document.Block{compose.FittedTable(record.Diagnosis{Fitted: []record.Fitted{recording.Fitted(f.departure)}})}
}
