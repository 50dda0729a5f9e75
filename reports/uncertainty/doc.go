// Package uncertainty evaluates and combines measurement uncertainty as the Guide does (JCGM 100:2008),
// and judges conformity as its companion on conformity assessment does (JCGM 106:2012).
//
// It holds the budget of a measurement, propagation through a measurement function with correlated inputs, effective
// degrees of freedom and coverage factors, the covariance of many readings that share some of their errors, and the
// probability of conformance, guard bands and risks. Propagation is to first order, and beside it stands the Monte
// Carlo method of JCGM 101:2008, with the validation of the one by the other. It does not know what was measured.
//
// A coverage interval is meant to hold 95.45 %, so that a well-known normal quantity has k = 2 exactly.
package uncertainty
