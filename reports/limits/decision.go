package limits

import (
	"fmt"
	"math"

	"wedgework/reports/document"
	"wedgework/reports/uncertainty"
)

// Rule is how a figure with uncertainty is held against a limit: a guard band w = Guard * U on either
// side of it, U being the expanded uncertainty.
type Rule struct {
	Guard float64 // r of JCGM 106:2012; 1 is the guard band of ISO 14253-1; 0 is simple acceptance
}

// Guarded is the rule used unless another is declared.
var Guarded = Rule{Guard: 1}

// String is the rule as a report prints it.
func (r Rule) String() string {
	if r.Guard == 0 {
		return "simple acceptance (JCGM 106:2012): pass on the right side of the limit, fail on the wrong side; the risk is shared"
	}
	return fmt.Sprintf("guard band w = r U with r = %g and U the expanded uncertainty (JCGM 106:2012, ISO 14253-1): "+
		"pass when the margin is at least w, fail when it is at most -w, otherwise undecided", r.Guard)
}

// Decision is a limit with the figure held against it.
type Decision struct {
	Limit     Limit
	Rule      Rule
	RuleText  string // the rule as a report prints it
	Outcome   document.Outcome
	Measured  float64 // dB
	Margin    float64 // dB, positive on the right side of the limit
	Standard  float64 // standard uncertainty, dB
	K         float64 // coverage factor
	Expanded  float64 // dB
	GuardBand float64 // dB
	// Conformance is the probability that the true figure meets the limit, given the measured one and
	// no other knowledge (JCGM 106:2012, clause 7, with a flat prior).
	Conformance float64
}

// Decide holds a measured figure in dB, with its standard uncertainty, against the limit.
func Decide(l Limit, r Rule, figure uncertainty.Estimate) Decision {
	u, k := figure.Expanded()
	d := Decision{Limit: l, Rule: r, RuleText: r.String(), Measured: figure.Value, Standard: figure.Standard,
		K: k, Expanded: u, GuardBand: r.Guard * u}
	if l.AtLeast {
		d.Margin = figure.Value - l.Value
		d.Conformance = uncertainty.Conformance(l.Value, math.Inf(1), figure.Value, figure.Standard)
	} else {
		d.Margin = l.Value - figure.Value
		d.Conformance = uncertainty.Conformance(math.Inf(-1), l.Value, figure.Value, figure.Standard)
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
