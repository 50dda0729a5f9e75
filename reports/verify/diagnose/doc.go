// Package diagnose says why readings differ from the specified model: which parameters explain them, which gross error,
// and which readings are outliers.
//
// Explain makes the Findings: it sets outliers aside (outliers.go), finds where the errors of the budget act
// (inquiry.go), lets hypotheses compete by AICc (ranking.go), allows for parameters that are not fitted (unfitted.go),
// and tries gross errors when nothing else fits (gross.go). Judge makes the Diagnosis of them: each fitted parameter
// against its tolerance (departure.go), what the readings cannot distinguish from it (alike.go), and the turn of an
// element that would mend the unit (correction.go). Sentences are made in package words.
package diagnose
