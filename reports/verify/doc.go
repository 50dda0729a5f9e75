// Package verify compares the readings of one unit with the model it was built to, and answers three questions that it
// never folds into one: does the measurement agree with the model, does the unit meet its limits given the uncertainty,
// and are the data good enough to say so. Where model and readings differ, it fits physical parameters that the
// engineer names and says which of them explains the difference, and what these data cannot distinguish from it.
//
// Values go from stage to stage, each a package that can be used and tested alone:
//
//	readings   what was measured, and how well: observations, their uncertainty and covariance
//	model      what is needed of a stack: transmissions over wavelength, adjustable parameters
//	predict    what a model leads to expect of the observations, within tolerances or within what a fit leaves open
//	fitting    models fitted to readings, in leakage amplitude
//	diagnose   which parameters or which gross error explain the readings; outliers; what would mend the unit
//	compare    readings beside models, one by one and as curves
//	decide     key figures against the models, figures against limits
//	quality    checks of the data
//	pictures   what a reviewer looks at
//	words      verdicts, sentences and notes; text prints numbers and conditions
//
// This package holds the specification, the run through the stages, and the result.
//
// Readings are compared as leakage amplitude y = 10^(-A/20), with A the isolation in dB: near the null of the
// leakage a decibel means nothing, and y is what an angle error moves in proportion. Net of the fixture's
// floor, in power. A difference is measured minus model.
//
// Run returns plain data: numbers with known units, not worded tables, with no NaN and no infinity in
// it. It reads no file and draws nothing. Ripple from double reflections is averaged out of the model and counted as an
// uncertainty instead.
package verify
