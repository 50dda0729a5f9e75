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

// Attr returns the figure, the ends of its coverage interval, the rule and the risks. What there is none of is None: a
// figure where nothing was read, an upper end where the leak may be none at all, risks under a prior without one.
func (d *Decision) Attr(name string) (starlark.Value, error) {
	v := d.decision
	switch name {
	case "figure":
		return starlark.String(v.Figure()), nil
	case "condition":
		return starlark.String(v.Condition()), nil
	case "limit":
		return of(v.Limit.Value, "dB"), nil
	case "guard":
		return starlark.Float(v.Rule.Guard), nil
	case "outcome":
		return starlark.String(v.Outcome.String()), nil
	}
	dB := func(x float64) starlark.Value {
		q := of(x, "dB")
		q.Value = significant(q.Value, 12)
		return q
	}
	switch {
	case !v.Decided:
	case name == "measured":
		return dB(v.Measured), nil
	case name == "margin":
		return dB(v.Margin), nil
	case name == "uncertainty":
		return dB(v.Expanded), nil
	case name == "low":
		return dB(v.Low), nil
	case name == "high" && v.High < verify.Most && !v.AtLeast:
		return dB(v.High), nil
	case name == "conformance":
		return starlark.Float(v.Conformance), nil
	case name == "false_acceptance" && v.Outcome == document.Pass:
		return starlark.Float(v.FalseAcceptance()), nil
	case name == "false_rejection" && v.Outcome == document.Fail:
		return starlark.Float(v.FalseRejection()), nil
	case name == "consumers_risk" && v.Risk != nil:
		return starlark.Float(v.Risk.Consumer), nil
	case name == "producers_risk" && v.Risk != nil:
		return starlark.Float(v.Risk.Producer), nil
	case name == "posterior" && v.Risk != nil:
		return starlark.Float(v.Risk.Posterior), nil
	}
	return orNone(d.AttrNames(), name), nil
}

// AttrNames lists the fields.
func (d *Decision) AttrNames() []string {
	return []string{"condition", "conformance", "consumers_risk", "false_acceptance", "false_rejection", "figure", "guard", "high", "limit", "low",
		"margin", "measured", "outcome", "posterior", "producers_risk", "uncertainty"}
}

func (d *Decision) json() any { return attributes(d) }
