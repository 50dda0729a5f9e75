package limits

import (
	"fmt"
	"math"

	"wedgework/reports/document"
	"wedgework/reports/uncertainty"
)

// Rule is how a figure with uncertainty is compared with a limit: a guard band w = Guard * U on either
// side of it, U being the expanded uncertainty.
type Rule struct {
	Guard float64 // r of JCGM 106:2012; 1 is the guard band of ISO 14253-1; 0 is simple acceptance
}

// Guarded is the rule used unless another is declared.
var Guarded = Rule{Guard: 1}

// String is the rule as a report prints it.
func (r Rule) String() string {
	if r.Guard == 0 {
		return "simple acceptance (JCGM 106:2012): pass when the limit is met by the figure alone, otherwise fail, " +
			"so that the risk is shared"
	}
	return fmt.Sprintf("guard band w = r U with r = %g and the expanded uncertainty U (JCGM 106:2012, ISO 14253-1), "+
		"pass when the margin is at least w, fail when it is at most -w, otherwise undecided", r.Guard)
}

// Brief is the rule in two or three words.
func (r Rule) Brief() string {
	if r.Guard == 0 {
		return "simple"
	}
	return fmt.Sprintf("guarded, r = %g", r.Guard)
}

// Decision is a limit with the figure held against it.
type Decision struct {
	Limit     Limit
	Rule      Rule
	RuleText  string // the rule as a report prints it
	Outcome   document.Outcome
	Measured  float64 // in the unit of the quantity, as all that follows
	Margin    float64 // positive on the right side of the limit
	Standard  float64 // standard uncertainty
	K         float64 // coverage factor
	Expanded  float64
	Low, High float64 // the ends of the coverage interval; 120 dB stands for no upper end
	// GuardBand is r times the part of the coverage interval that reaches from the figure towards the limit; r U
	// when the interval is symmetric.
	GuardBand float64
	// Conformance is the probability that the true figure meets the limit, given the measured one and
	// no other knowledge (JCGM 106:2012, clause 7, with a flat prior).
	Conformance float64
	Risk        *Risk // with the limit's prior; nil without one
}

// FalseAcceptance returns the probability that a figure that passed does not meet the limit, FalseRejection that one
// that failed does: the specific risks of JCGM 106:2012, clause 9, with a flat prior. Each is 0 when the outcome is
// another.
func (d Decision) FalseAcceptance() float64 {
	if d.Outcome != document.Pass {
		return 0
	}
	return 1 - d.Conformance
}

// FalseRejection is described with FalseAcceptance.
func (d Decision) FalseRejection() float64 {
	if d.Outcome != document.Fail {
		return 0
	}
	return d.Conformance
}

// Decide compares a measured figure, with its standard uncertainty, with the limit by the limit's rule. A figure
// that is not a number is undecided.
func Decide(l Limit, figure uncertainty.Estimate) Decision {
	u, k := figure.Expanded()
	r := l.InForce()
	d := Decision{Limit: l, Rule: r, RuleText: r.String(), Measured: figure.Value, Standard: figure.Standard, K: k,
		Expanded: u}
	low, high := l.conforming()
	switch {
	case l.Change != nil:
		d.Margin = l.Value - math.Abs(figure.Value)
	case l.AtLeast:
		d.Margin = figure.Value - l.Value
	default:
		d.Margin = l.Value - figure.Value
	}
	d = d.Between(figure.Value-u, figure.Value+u, figure.Conformance(low, high))
	if l.Prior != nil && figure.Standard > 0 {
		d.Risk = l.Prior.risk(l, r.Guard*u, figure)
	}
	return d
}

// Between decides anew by the ends of a coverage interval, which need not be symmetric, and the probability of
// conformance that goes with it: passed when the end towards the limit keeps it, or with another guard factor that part
// of the way there.
func (d Decision) Between(low, high, conformance float64) Decision {
	d.Low, d.High, d.Conformance = low, high, conformance
	worse, better := high-d.Measured, d.Measured-low // ways from the figure to the ends
	if d.Limit.AtLeast || d.Limit.Change != nil && d.Measured < 0 {
		worse, better = better, worse
	}
	d.GuardBand = d.Rule.Guard * worse
	if d.Margin < 0 {
		d.GuardBand = d.Rule.Guard * better
	}
	switch {
	case math.IsNaN(d.Margin) || math.IsNaN(d.GuardBand):
		d.Outcome = document.Undecided
	case d.Margin >= d.GuardBand:
		d.Outcome = document.Pass
	case d.Margin <= -d.GuardBand:
		d.Outcome = document.Fail
	default:
		d.Outcome = document.Undecided
	}
	return d
}

// Worst folds outcomes into one: fail if any fails, else undecided if any is, else pass. None at all is
// undecided, for nothing was shown.
func Worst(outcomes ...document.Outcome) document.Outcome {
	worst := document.Outcome(0)
	for _, o := range outcomes {
		switch {
		case o == document.Fail || worst == document.Fail:
			worst = document.Fail
		case o == document.Undecided || worst == document.Undecided:
			worst = document.Undecided
		case o == document.Pass:
			worst = document.Pass
		}
	}
	if worst == 0 {
		return document.Undecided
	}
	return worst
}
