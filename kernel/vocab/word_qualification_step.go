package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/reports/compose"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/qualify"
	"wedgework/reports/recording"
	"wedgework/reports/verify"
)

var verificationsKind = Kind{"a verification, or a list of them such as verify() gives for a lot", "",
	func(v starlark.Value) (bool, string) {
		if _, ok := v.(*Verification); ok {
			return true, ""
		}
		return listOf(instance[*Verification]("a verification"), "").accept(v)
	}}

// exampleQualification makes a test of a sequence.
const exampleQualification = exampleStack + `band = sweep(1540*nm, 1560*nm, 1*nm)
def measure(name, file):
    return verify(s, measured(name, default=file), limits=limits(isolation=at_least(30*dB), over=band),
        uncertainty=budget(repeatability=0.05*dB, power_meter=0.05*dB))
t = qualification_step("damp heat", standard="IEC 61300-2-19", severity="40 °C, 93 % RH", duration="96 h",
    before=measure("before", "unit.csv"), after=measure("after", "unit-after.csv"), plan=sample_plan(units=1),
    limits=limits(isolation=at_most(1*dB), change="before damp heat", over=band), common=["power_meter"])
`

var _ = Register(Word{
	Name:    "qualification_step",
	Summary: "one test of a qualification: what its units changed, and whether its sample plan is met",
	Params: []Param{
		{Name: "name", Kind: textKind.of("text", `"damp heat"`), Doc: "name of the test, by which requirements refer to it"},
		{Name: "after", Kind: verificationsKind, Mode: Keyword,
			Doc: "verifications of the units after the test, or during it; their conformity counts"},
		{Name: "before", Kind: verificationsKind, Mode: Keyword, Optional: true,
			Doc: "verifications of the same units before the test; needed for limits="},
		{Name: "plan", Kind: instance[*SamplePlan]("a sample plan such as sample_plan(units=11)"), Mode: Keyword,
			Doc: "sample plan"},
		{Name: "limits", Kind: changesKind, Mode: Keyword, Optional: true,
			Doc: "limits on changes, from limits(..., change=...)"},
		{Name: "common", Kind: listOf(textKind, `a list of contributions such as ["power_meter", "reference"]`),
			Mode: Keyword, Optional: true,
			Doc: "contributions of the budget that are one and the same error before and after, and cancel in a " +
				"change; default: none"},
		{Name: "standard", Kind: textKind.of("text", `"IEC 61300-2-19"`), Mode: Keyword, Default: starlark.String(""),
			Doc: "standard of the test"},
		{Name: "severity", Kind: textKind.of("text", `"40 °C, 93 % RH"`), Mode: Keyword, Default: starlark.String(""),
			Doc: "conditions of the test"},
		{Name: "duration", Kind: textKind.of("text", `"96 h"`), Mode: Keyword, Default: starlark.String(""),
			Doc: "how long it lasted"},
	},
	Returns: "a test with .outcome, .failed, .undecided, .changes and .sentence, for qualification()",
	Errors: "limits= has no limit on a change, or before= is missing; a unit was not verified before against a limit " +
		"on the same figure, band and temperatures; a contribution of common= is not common to all readings of both " +
		"budgets; before= and after= state the same condition",
	Example: exampleQualification + "t.sentence",
	Source:  "JCGM 100:2008, 5.2.2 (correlated contributions), JCGM 106; names of tests as in the IEC 61300-2 series",
	Detail: "A unit passes if all its changes do and it conforms after the test. The test fails if more units fail " +
		"than the plan allows; it passes if there are no more even with all undecided units counted as failures.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) { return qualificationStep(a) },
})

// resultsOf lists verifications.
func resultsOf(v starlark.Value) []*verify.Result {
	if one, ok := v.(*Verification); ok {
		return []*verify.Result{one.result}
	}
	items, _ := elements(v)
	var all []*verify.Result
	for _, item := range items {
		all = append(all, item.(*Verification).result)
	}
	return all
}

func qualificationStep(a Args) (starlark.Value, error) {
	common, _ := elements(a.Get("common"))
	t := &QualificationStep{opaque{"qualification_step"}, qualify.Test{Name: a.Text("name"),
		Standard: a.Text("standard"),
		Severity: a.Text("severity"), Duration: a.Text("duration"), Plan: arg[*SamplePlan](a, "plan").plan,
		Common: textItems(common)}}
	after, before := resultsOf(a.Get("after")), resultsOf(a.Get("before"))
	var of limits.Limits
	if l := arg[*Limits](a, "limits"); l != nil {
		of = l.list
		if before == nil {
			return nil, errors.New("limits= on changes needs before=")
		}
	} else if len(common) > 0 {
		return nil, errors.New("common= needs limits= on changes")
	}
	byUnit := map[string]*verify.Result{}
	for _, r := range before {
		if byUnit[r.Unit] != nil {
			return nil, fmt.Errorf("before= has unit %s twice", r.Unit)
		}
		byUnit[r.Unit] = r
	}
	seen := map[string]bool{}
	for _, r := range after {
		if seen[r.Unit] {
			return nil, fmt.Errorf("after= has unit %s twice", r.Unit)
		}
		seen[r.Unit] = true
		u := qualify.Unit{Name: r.Unit, After: r.Conformity.Outcome}
		switch was := byUnit[r.Unit]; {
		case of == nil:
		case was == nil:
			u.Missing = "not measured before"
		case was.Condition != "" && was.Condition == r.Condition:
			return nil, fmt.Errorf("before= and after= have unit %s in the same condition, %q", r.Unit, r.Condition)
		default:
			var err error
			if u.Changes, err = qualify.Changes(was, r, of, t.test.Common); err != nil {
				return nil, err
			}
		}
		t.test.Units = append(t.test.Units, u)
	}
	for _, r := range before {
		if !seen[r.Unit] {
			t.test.Units = append(t.test.Units, qualify.Unit{Name: r.Unit, Missing: "not measured after"})
		}
	}
	return t, nil
}

// QualificationStep is a test of a qualification as a cell holds it.
type QualificationStep struct {
	opaque
	test qualify.Test
}

func (t *QualificationStep) String() string { return "<qualification step: " + t.sentence() + ">" }

// Attr returns a field.
func (t *QualificationStep) Attr(name string) (starlark.Value, error) {
	return qualificationStepType.attr(t, name)
}

// AttrNames lists them.
func (t *QualificationStep) AttrNames() []string { return qualificationStepType.names(t) }

var qualificationStepType = newType("qualification_step", methodSet[*QualificationStep]{},
	textAttr("name", "name of the test", func(t *QualificationStep) string { return t.test.Name }),
	textAttr("outcome", "pass, fail or undecided",
		func(t *QualificationStep) string { return t.test.Outcome().String() }),
	intAttr("failed", "number of units that failed",
		func(t *QualificationStep) int { n, _ := t.test.Count(); return n }),
	intAttr("undecided", "number of units of which it is not decided",
		func(t *QualificationStep) int { _, n := t.test.Count(); return n }),
	tupleAttr("changes", "for each unit and limit (unit, figure, change, expanded uncertainty, outcome)",
		(*QualificationStep).changes),
	textAttr("sentence", "summary in one sentence", (*QualificationStep).sentence),
)

func (t *QualificationStep) changes() []starlark.Value {
	var all []starlark.Value
	for _, u := range t.test.Units {
		for _, c := range u.Changes {
			q := c.Limit.Quantity
			change, expanded := starlark.Value(starlark.None), starlark.Value(starlark.None)
			if c.Undetermined == "" || c.Standard > 0 {
				change = fromQuantity(bounded(significant(c.Measured, 12), q))
				expanded = fromQuantity(bounded(significant(c.Expanded, 12), q))
			}
			all = append(all, starlark.Tuple{starlark.String(u.Name), starlark.String(q), change, expanded,
				starlark.String(c.Outcome.String())})
		}
	}
	return all
}

func (t *QualificationStep) sentence() string { return t.test.Sentence() }

func (t *QualificationStep) blocks() []document.Block {
	return compose.TestTables(recording.Test(t.test))
}
