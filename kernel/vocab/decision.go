package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
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
	textAttr("figure", "the measured figure that is compared with the limit",
		func(d *Decision) string { return d.decision.Figure() }),
	textAttr("condition", "wavelength band and temperatures of the limit",
		func(d *Decision) string { return d.decision.Condition() }),
	quantityAttr("limit", "the limit", func(d *Decision) quantity.Quantity { return d.in(d.decision.Limit.Value) }),
	floatAttr("guard", "guard factor of the decision rule; 0: simple acceptance",
		func(d *Decision) float64 { return d.decision.Rule.Guard }),
	textAttr("outcome", "pass, fail or undecided", func(d *Decision) string { return d.decision.Outcome.String() }),
	decided("measured", "the measured value", func(d *Decision) float64 { return d.decision.Measured }),
	decided("low", "lower end of its coverage interval (95.45 %)", func(d *Decision) float64 { return d.decision.Low }),
	decided("high", "upper end of its coverage interval; None if the leakage may be zero",
		func(d *Decision) float64 { return d.decision.High }).
		when(func(d *Decision) bool {
			v := d.decision
			return v.Decided && (v.High < verify.Most || v.Limit.Quantity.Unit() != "dB") && !v.AtLeast
		}),
	decided("uncertainty", "its expanded uncertainty (k = 2 for infinite degrees of freedom)",
		func(d *Decision) float64 { return d.decision.Expanded }),
	decided("margin", "margin to the limit; negative if the limit is not met",
		func(d *Decision) float64 { return d.decision.Margin }),
	floatAttr("conformance",
		"conformance probability: that the limit is met, given the reading and no prior knowledge (JCGM 106)",
		func(d *Decision) float64 { return d.decision.Conformance }).when((*Decision).decided),
	floatAttr("false_acceptance", "specific consumer's risk of a pass: probability that the limit is not met",
		func(d *Decision) float64 { return d.decision.FalseAcceptance() }).
		when(func(d *Decision) bool { return d.decided() && d.decision.Outcome == document.Pass }),
	floatAttr("false_rejection", "specific producer's risk of a fail: probability that the limit is met",
		func(d *Decision) float64 { return d.decision.FalseRejection() }).
		when(func(d *Decision) bool { return d.decided() && d.decision.Outcome == document.Fail }),
	floatAttr("posterior", "conformance probability with the prior of the limit",
		func(d *Decision) float64 { return d.decision.Risk.Posterior }).when((*Decision).weighed),
	floatAttr("consumers_risk", "global consumer's risk with the prior: a unit is accepted and does not conform",
		func(d *Decision) float64 { return d.decision.Risk.Consumer }).when((*Decision).weighed),
	floatAttr("producers_risk", "global producer's risk with the prior: a unit conforms and is not accepted",
		func(d *Decision) float64 { return d.decision.Risk.Producer }).when((*Decision).weighed),
)

func (d *Decision) decided() bool { return d.decision.Decided }
func (d *Decision) weighed() bool { return d.decided() && d.decision.Risk != nil }

// in puts a number of the decision into the unit of its limit.
func (d *Decision) in(v float64) quantity.Quantity { return bounded(v, d.decision.Limit.Quantity) }

// decided is a number that only a limit with readings has.
func decided(name, summary string, get func(*Decision) float64) attr[*Decision] {
	return quantityAttr(name, summary, func(d *Decision) quantity.Quantity { return d.in(significant(get(d), 12)) }).
		when((*Decision).decided)
}
