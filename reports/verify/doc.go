// Package verify holds measured readings of one unit against the model it was built to, and answers
// three questions that it never folds into one: does the measurement agree with the model, does the unit
// meet its limits given the uncertainty, and is the data good enough to say so. Where the model and the
// readings part, it fits physical parameters that the engineer names and says which one explains the
// difference, and what this data cannot tell apart from it.
//
// Readings are compared as leak amplitude y = 10^(-A/20), with A the isolation in dB: near the null of the
// leak a decibel means nothing, and y is what an angle error moves in proportion. Net of the fixture's
// floor, in power. A difference is measured minus model.
//
// Run returns plain data: numbers with known units, not worded tables, with no NaN and no infinity in
// it. It reads no file and draws nothing. Ghost ripple of the model is averaged out and counted as an
// uncertainty instead.
package verify
