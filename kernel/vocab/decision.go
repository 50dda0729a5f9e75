package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/reports/document"
	"wedgework/reports/verify"
)

// Decision is a limit with the figure that was held against it; it is true when the figure passes.
type Decision struct {
	opaque
	decision verify.Decision
}

func (d *Decision) String() string {
	return fmt.Sprintf("<%s: %s>", limitText(d.decision.Limit), d.decision.Outcome)
}

// Truth is whether the figure passes; undecided is not a pass.
func (d *Decision) Truth() starlark.Bool { return d.decision.Outcome == document.Pass }

// Attr returns a field or a method.
func (d *Decision) Attr(name string) (starlark.Value, error) { return decisionType.attr(d, name) }

// AttrNames lists them.
func (d *Decision) AttrNames() []string { return decisionType.names(d) }

// What there is none of is None: a figure where nothing was read, an upper end where the leak may be none at all, risks
// under a prior without one.
var decisionType = newType("decision", methodSet[*Decision]{},
	textAttr("figure", "what was held against the limit", func(d *Decision) string { return d.decision.Figure() }),
	textAttr("condition", "the limit's band and temperatures", func(d *Decision) string { return d.decision.Condition() }),
	levelAttr("limit", "the bound", func(d *Decision) float64 { return d.decision.Limit.Value }),
	floatAttr("guard", "the guard factor of its rule; 0 is simple acceptance", func(d *Decision) float64 { return d.decision.Rule.Guard }),
	textAttr("outcome", "pass, fail or undecided", func(d *Decision) string { return d.decision.Outcome.String() }),
	decided("measured", "the figure", func(d *Decision) float64 { return d.decision.Measured }),
	decided("low", "the lower end of its coverage interval", func(d *Decision) float64 { return d.decision.Low }),
	decided("high", "the upper end; None where the leak may be none at all", func(d *Decision) float64 { return d.decision.High }).
		when(func(d *Decision) bool { v := d.decision; return v.Decided && v.High < verify.Most && !v.AtLeast }),
	decided("uncertainty", "its expanded uncertainty", func(d *Decision) float64 { return d.decision.Expanded }),
	decided("margin", "how far it is on the right side of the bound", func(d *Decision) float64 { return d.decision.Margin }),
	floatAttr("conformance", "the probability that the bound is kept, nothing else being known",
		func(d *Decision) float64 { return d.decision.Conformance }).when((*Decision).decided),
	floatAttr("false_acceptance", "of a pass: the probability that the bound is not kept",
		func(d *Decision) float64 { return d.decision.FalseAcceptance() }).
		when(func(d *Decision) bool { return d.decided() && d.decision.Outcome == document.Pass }),
	floatAttr("false_rejection", "of a fail: the probability that it is kept",
		func(d *Decision) float64 { return d.decision.FalseRejection() }).
		when(func(d *Decision) bool { return d.decided() && d.decision.Outcome == document.Fail }),
	floatAttr("posterior", "the probability that it is kept, with the limit's prior",
		func(d *Decision) float64 { return d.decision.Risk.Posterior }).when((*Decision).weighed),
	floatAttr("consumers_risk", "with the prior: a unit is accepted and does not conform",
		func(d *Decision) float64 { return d.decision.Risk.Consumer }).when((*Decision).weighed),
	floatAttr("producers_risk", "with the prior: a unit conforms and is not accepted",
		func(d *Decision) float64 { return d.decision.Risk.Producer }).when((*Decision).weighed),
)

func (d *Decision) decided() bool { return d.decision.Decided }
func (d *Decision) weighed() bool { return d.decided() && d.decision.Risk != nil }

// decided is a level that only a limit with readings has.
func decided(name, summary string, get func(*Decision) float64) attr[*Decision] {
	return levelAttr(name, summary, func(d *Decision) float64 { return significant(get(d), 12) }).when((*Decision).decided)
}
