package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/reports/document"
	"wedgework/reports/qualify"
)

var _ = Register(Word{
	Name:    "sample_plan",
	Summary: "number of units for a qualification test, and what the test then proves",
	Params: []Param{
		{Name: "units", Kind: wholeKind, Optional: true,
			Doc: "number of units tested; default: the least that proves ltpd="},
		{Name: "allowed", Kind: wholeKind, Mode: Keyword, Default: starlark.MakeInt(0),
			Doc: "number of failures with which the test is still passed"},
		{Name: "ltpd", Kind: ratioKind, Mode: Keyword, Optional: true,
			Doc: "share of failing units that must be detected (lot tolerance percent defective); instead of units="},
		{Name: "consumer_risk", Kind: ratioKind, Mode: Keyword, Default: of(10, "percent"),
			Doc: "probability of passing at the LTPD"},
		{Name: "producer_risk", Kind: ratioKind, Mode: Keyword, Default: of(5, "percent"),
			Doc: "probability of not passing at the AQL (acceptable quality level)"},
		{Name: "lot", Kind: wholeKind, Mode: Keyword, Optional: true,
			Doc: "size of the lot from which the sample is taken; default: continuous production"},
	},
	Returns: "a sample plan with .units, .allowed, .ltpd, .aql and .sentence, for qualification_step()",
	Errors: "units= and ltpd= are both given or both missing; more failures are allowed than units tested; a risk is " +
		"0 or 100 %; no sample can prove the LTPD",
	Example: "sample_plan(ltpd=10*percent).units",
	Source:  "exact binomial distribution; hypergeometric distribution for a lot",
	Detail: "The number of units is computed for the lot, if one is stated. The LTPD and the AQL of the plan always " +
		"apply to continuous production.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		if a.Has("units") == a.Has("ltpd") {
			return nil, errors.New("give either units= or ltpd=, one of them")
		}
		p := &SamplePlan{opaque: opaque{"sample_plan"}, consumer: a.SI("consumer_risk"),
			producer: a.SI("producer_risk")}
		for _, name := range []string{"consumer_risk", "producer_risk"} {
			if r := a.SI(name); r <= 0 || r >= 1 {
				return nil, a.refuse(name, "above 0 and below 100 %")
			}
		}
		var err error
		if p.plan.Allowed, err = a.whole("allowed", 0, 1000); err != nil {
			return nil, err
		}
		if a.Has("lot") {
			if p.plan.Lot, err = a.whole("lot", 1, 1000000); err != nil {
				return nil, err
			}
		}
		if a.Has("units") {
			p.plan.Units, err = a.whole("units", 1, 1000000)
		} else {
			p.plan.Units, err = qualify.Size(a.SI("ltpd"), p.consumer, p.plan.Allowed, p.plan.Lot)
		}
		if err != nil {
			return nil, err
		}
		return p, p.plan.Check()
	},
})

// SamplePlan is a sample plan as a cell holds it.
type SamplePlan struct {
	opaque
	plan               qualify.Plan
	consumer, producer float64
}

func (p *SamplePlan) String() string { return "<sample plan: " + p.sentence() + ">" }

// Attr returns a field.
func (p *SamplePlan) Attr(name string) (starlark.Value, error) { return samplePlanType.attr(p, name) }

// AttrNames lists them.
func (p *SamplePlan) AttrNames() []string { return samplePlanType.names(p) }

var samplePlanType = newType("sample_plan", methodSet[*SamplePlan]{},
	intAttr("units", "number of units tested", func(p *SamplePlan) int { return p.plan.Units }),
	intAttr("allowed", "number of failures allowed", func(p *SamplePlan) int { return p.plan.Allowed }),
	floatAttr("ltpd", "share of failing units at which the test is passed with the consumer's risk",
		func(p *SamplePlan) float64 { return p.plan.Quality(p.consumer) }),
	floatAttr("aql", "share of failing units at which the test is not passed with the producer's risk",
		func(p *SamplePlan) float64 { return p.plan.Quality(1 - p.producer) }),
	textAttr("sentence", "what the plan proves", (*SamplePlan).sentence),
)

func (p *SamplePlan) sentence() string {
	return fmt.Sprintf("%s, %s allowed: if %s %% of all units failed, the test would be passed with a probability of "+
		"%g %%; with %s %% it is not passed with %g %%", count(p.plan.Units, "unit"), count(p.plan.Allowed, "failure"),
		qualify.Percent(p.plan.Quality(p.consumer)), 100*p.consumer, qualify.Percent(p.plan.Quality(1-p.producer)),
		100*p.producer)
}

func (p *SamplePlan) blocks() []document.Block {
	return []document.Block{document.Plain("Sample plan, " + p.sentence() + ".")}
}
