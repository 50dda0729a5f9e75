package limits

import "wedgework/reports/document"

// Rule is how a figure with uncertainty is held against a limit: a guard band w = Guard * U on either
// side of it, U being the expanded uncertainty.
type Rule struct {
	Guard float64 // r of JCGM 106:2012; 1 is the guard band of ISO 14253-1
}

// Guarded is the rule used unless another is declared.
var Guarded = Rule{Guard: 1}

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
