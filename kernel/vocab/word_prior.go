package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/reports/limits"
)

// Prior is what is known of a figure before it is measured, as a cell holds it.
type Prior struct {
	opaque
	prior limits.Prior
}

var priorKind = instance[*Prior](`a prior such as prior("lots 26-01 to 26-10", mean=36*dB, deviation=2*dB)`)

var _ = newType("prior", methodSet[*Prior]{})

func (p *Prior) String() string {
	return fmt.Sprintf("<prior %s: mean %g dB, standard deviation %g dB>", p.prior.Name, p.prior.Mean, p.prior.Standard)
}

var _ = Register(Word{
	Name:    "prior",
	Summary: "prior distribution of a figure over production",
	Params: []Param{
		{Name: "name", Kind: textKind.of("text", `"lots 26-01 to 26-10"`),
			Doc: "source of the prior, printed with every risk that is based on it"},
		{Name: "mean", Kind: levelKind.of("level", "36*dB"), Mode: Keyword, Doc: "mean over production"},
		{Name: "deviation", Kind: levelKind.of("level", "2*dB").positive(), Mode: Keyword,
			Doc: "standard deviation over production; normal distribution"},
	},
	Returns: "a prior for prior= of at_least() and at_most(); verify() then gives the global consumer's and producer's " +
		"risk",
	Errors: "the name is empty",
	Example: `limits(isolation=at_least(30*dB, prior=prior("lots 26-01 to 26-10", mean=36*dB, deviation=2*dB)),
    over=1550*nm)`,
	Source: "JCGM 106:2012, clause 9",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		if a.Text("name") == "" {
			return nil, a.refuse("name", "a text that names the source of the prior")
		}
		return &Prior{opaque{"prior"}, limits.Prior{Name: a.Text("name"), Mean: a.SI("mean"),
			Standard: a.SI("deviation")}}, nil
	},
})
