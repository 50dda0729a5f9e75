package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/reports/lot"
	"wedgework/reports/verify"
)

var _ = Register(Word{
	Name:    "lot",
	Summary: "statistics over the verified units of one lot",
	Params: []Param{
		{Name: "units",
			Kind: listOf(instance[*Verification]("a verification"),
				"a list of verifications such as verify() gives for a lot"),
			Doc: "verifications of the units"},
		{Name: "proportion", Kind: ratioKind.of("ratio", "95*percent"), Mode: Keyword, Default: of(95, "percent"),
			Doc: "proportion of all such units inside the tolerance interval"},
		{Name: "confidence", Kind: ratioKind.of("ratio", "95*percent"), Mode: Keyword, Default: of(95, "percent"),
			Doc: "confidence of the tolerance interval"},
		{Name: "order", Kind: choice("measured", "given"), Mode: Keyword, Default: starlark.String("measured"),
			Doc: "order of production; measured: by the time measured, else by the sequence stated in the files (# " +
				"sequence: 7), else by unit number; given: as listed"},
		retestParam,
	},
	Returns: "a lot with .units, .sentence, .passes, .fails, .undecided and .characteristics; each characteristic " +
		"has .values, .mean, .deviation, a tolerance interval .low to .high with .factor, control limits " +
		".lower_limit and .upper_limit about .centre, .signals, and .slope per unit",
	Errors: "there are fewer than two units, units of different lots, or a proportion or confidence that is below 50 " +
		"% or not below 100 %",
	Example: exampleStack + `v = verify(s, measured("units", default="lot.csv"), limits=limits(isolation=at_least(30*dB),
    over=1550*nm),
           uncertainty=budget(repeatability=0.05*dB))
lot(v).characteristics[0].mean`,
	Source: "tolerance intervals by ISO 16269-6, control charts by ISO 7870-2",
	Detail: "A report includes these statistics for every lot without this call, for 95 % of the units with 95 % " +
		"confidence.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		items, _ := elements(a.Get("units"))
		if len(items) < 2 {
			return nil, fmt.Errorf("units= has %s; a lot needs two or more", count(len(items), "verification"))
		}
		coverage := lot.Coverage{Proportion: a.SI("proportion"), Confidence: a.SI("confidence")}
		if err := coverage.Check(); err != nil {
			return nil, err
		}
		var results []*verify.Result
		for _, item := range items {
			r := item.(*Verification).result
			if r.Lot != items[0].(*Verification).result.Lot {
				return nil, fmt.Errorf("unit %s is of lot %q, the first unit of lot %q: call lot() for each lot",
					r.Unit, r.Lot, items[0].(*Verification).result.Lot)
			}
			results = append(results, r)
		}
		studies := lot.Studies(results, lot.How{Coverage: coverage, Retest: retestOf(a),
			Given: a.Text("order") == "given"})
		if len(studies) == 0 {
			return nil, errors.New("all verifications are of the same unit; a lot needs two or more")
		}
		return &Lot{opaque{"lot"}, studies[0]}, nil
	},
})

// retestParam is the rule for retests.
var retestParam = Param{Name: "retest", Kind: choice(lot.Retests...), Mode: Keyword, Optional: true,
	Doc: "how a unit counts that was measured more than once: latest (the default), by its latest test alone; all, " +
		"by every test; never by an average"}

// retestOf reads the rule; "" is the usual one.
func retestOf(a Args) lot.Retest {
	if !a.Has("retest") {
		return ""
	}
	return lot.Retest(a.Text("retest"))
}

// RetestHost is a Host that wants to know the rule for retests, which report() and verify() take.
type RetestHost interface {
	Host
	Retest(rule string) error
}

// takeRetest hands the rule of a call to the host.
func takeRetest(host Host, a Args) error {
	rule := retestOf(a)
	if h, ok := host.(RetestHost); ok && rule != "" {
		return h.Retest(string(rule))
	}
	return nil
}
