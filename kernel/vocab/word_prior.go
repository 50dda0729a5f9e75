package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
)

// Prior is what is known of a figure before it is measured, as a cell holds it.
type Prior struct {
	opaque
	name            string
	mean, deviation quantity.Quantity
}

// priorIn is a prior of a quantity, in its unit; nil without one.
func priorIn(p *Prior, q limits.Quantity) (*limits.Prior, error) {
	if p == nil {
		return nil, nil
	}
	mean, err := p.mean.In(limitUnit(q))
	if err != nil {
		return nil, fmt.Errorf("%s: the prior %q has the mean %s, expected one in %s", q, p.name, p.mean, q.Unit())
	}
	deviation, err := p.deviation.In(limitUnit(q))
	if err != nil {
		return nil, fmt.Errorf("%s: the prior %q has the deviation %s, expected one in %s", q, p.name, p.deviation,
			q.Unit())
	}
	return &limits.Prior{Name: p.name, Mean: mean.Value, Standard: deviation.Value}, nil
}

var priorKind = instance[*Prior](`a prior such as prior("lots 26-01 to 26-10", mean=36*dB, deviation=2*dB)`)

var _ = newType("prior", methodSet[*Prior]{})

func (p *Prior) String() string {
	return fmt.Sprintf("<prior %s: mean %s, standard deviation %s>", p.name, p.mean, p.deviation)
}

var _ = Register(Word{
	Name:    "prior",
	Summary: "prior distribution of a figure over production",
	Params: []Param{
		{Name: "name", Kind: textKind.of("text", `"lots 26-01 to 26-10"`),
			Doc: "source of the prior, printed with every risk that is based on it"},
		{Name: "mean", Kind: limitValueKind, Mode: Keyword, Doc: "mean over production"},
		{Name: "deviation", Kind: limitValueKind.positive(), Mode: Keyword,
			Doc: "standard deviation over production; normal distribution"},
	},
	Returns: "a prior for prior= of at_least() and at_most(); verify() then gives the global consumer's and " +
		"producer's risk",
	Errors: "the name is empty",
	Example: `limits(isolation=at_least(30*dB, prior=prior("lots 26-01 to 26-10", mean=36*dB, deviation=2*dB)),
    over=1550*nm)`,
	Source: "JCGM 106:2012, clause 9",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		if a.Text("name") == "" {
			return nil, a.refuse("name", "a text that names the source of the prior")
		}
		return &Prior{opaque{"prior"}, a.Text("name"), a.Quantity("mean"), a.Quantity("deviation")}, nil
	},
})
