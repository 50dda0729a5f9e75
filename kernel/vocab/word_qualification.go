package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/reports/compose"
	"wedgework/reports/document"
	"wedgework/reports/qualify"
	"wedgework/reports/recording"
)

var _ = Register(Word{
	Name:    "qualification",
	Summary: "a sequence of tests with requirements, evidence, deviations and waivers",
	Params: []Param{
		{Name: "steps", Kind: listOf(instance[*QualificationStep]("a step such as qualification_step() gives"),
			"a list of steps such as qualification_step() gives"), Doc: "the tests, in their sequence"},
		{Name: "requirements", Kind: dictKind.of("dict", `{"loss changes by at most 0.2 dB": ["damp heat"]}`), Mode: Keyword,
			Optional: true, Doc: "requirements, each with the list of the tests that are its evidence, by name"},
		{Name: "deviations", Kind: listOf(instance[*starlark.Dict](`a dict such as {"test": "vibration", "deviation": `+
			`"2 axes of 3"}`), "a list of dicts with test, deviation and, where there is one, waiver"), Mode: Keyword,
			Optional: true, Doc: "what was done otherwise than planned or is accepted in spite of a limit, with the " +
				"waiver; a waiver does not change an outcome"},
	},
	Returns: "a qualification with .outcome, .requirements (the outcome of each) and .sentence",
	Errors:  "two tests have one name, or a requirement or deviation names a test that is not there",
	Example: exampleQualification + `qualification([t], requirements={"isolation changes by at most 1 dB": ["damp heat"]}).outcome`,
	Detail: "A requirement is shown if all its tests pass; one without evidence is undecided. The outcome of the " +
		"qualification is the worst of all.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		q, err := qualificationOf(a)
		if err != nil {
			return nil, err
		}
		if h, ok := t.Local(HostKey).(QualificationHost); ok {
			h.Qualified(q.q)
		}
		return q, nil
	},
})

// QualificationHost is a Host whose report has qualifications.
type QualificationHost interface {
	Host
	// Qualified takes a qualify.Qualification.
	Qualified(result any)
}

func qualificationOf(a Args) (*Qualification, error) {
	q := &Qualification{opaque: opaque{"qualification"}}
	items, _ := elements(a.Get("steps"))
	if len(items) == 0 {
		return nil, a.refuse("steps", "a list of one step or more")
	}
	for _, item := range items {
		q.q.Tests = append(q.q.Tests, item.(*QualificationStep).test)
	}
	if d := arg[*starlark.Dict](a, "requirements"); d != nil {
		for _, kv := range d.Items() {
			text, ok := starlark.AsString(kv[0])
			names := listOf(textKind, `a list of tests such as ["damp heat"]`)
			if problem := names.problem(kv[1]); !ok || problem != "" {
				return nil, fmt.Errorf("requirements: the evidence of %s %s", kv[0], problem)
			}
			evidence, _ := elements(kv[1])
			q.q.Requirements = append(q.q.Requirements, qualify.Requirement{Text: text, Evidence: textItems(evidence)})
		}
	}
	deviations, _ := elements(a.Get("deviations"))
	for i, item := range deviations {
		d := item.(*starlark.Dict)
		field := func(name string) string {
			v, _, _ := d.Get(starlark.String(name))
			s, _ := starlark.AsString(v)
			return s
		}
		one := qualify.Deviation{Test: field("test"), Text: field("deviation"), Waiver: field("waiver")}
		if one.Test == "" || one.Text == "" {
			return nil, fmt.Errorf("deviations, item %d: expected texts for test and deviation", i+1)
		}
		q.q.Deviations = append(q.q.Deviations, one)
	}
	return q, q.q.Check()
}

// Qualification is a qualification as a cell holds it.
type Qualification struct {
	opaque
	q qualify.Qualification
}

func (q *Qualification) String() string { return "<qualification: " + q.sentence() + ">" }

// Attr returns a field.
func (q *Qualification) Attr(name string) (starlark.Value, error) {
	return qualificationType.attr(q, name)
}

// AttrNames lists them.
func (q *Qualification) AttrNames() []string { return qualificationType.names(q) }

var qualificationType = newType("qualification", methodSet[*Qualification]{},
	textAttr("outcome", "pass, fail or undecided", func(q *Qualification) string { return q.q.Outcome().String() }),
	valueAttr("requirements", "dict", "outcome of each requirement", func(q *Qualification) (starlark.Value, error) {
		var texts []string
		var outcomes []starlark.Value
		for _, r := range q.q.Requirements {
			texts, outcomes = append(texts, r.Text), append(outcomes, starlark.String(q.q.Shown(r).String()))
		}
		return frozen(dictOf(texts, outcomes))
	}),
	textAttr("sentence", "summary in one sentence", (*Qualification).sentence),
)

func (q *Qualification) sentence() string { return q.q.Outcome().String() + ": " + q.q.Sentence() }

func (q *Qualification) blocks() []document.Block {
	return append(compose.QualificationTables(recording.Qualification(q.q)),
		document.Plain("Qualification, "+q.sentence()+"."))
}
