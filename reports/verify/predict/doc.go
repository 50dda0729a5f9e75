// Package predict says what a model leads to expect of observations, and how well that is known.
//
// A Batch evaluates models at observations, those of one quantity in one run together. Terms evaluates the budget of
// the measurement with the slopes of a model. An Uncertain model is one whose parameters are not known exactly: a
// Scatter within its tolerances (units sampled by Latin hypercube, most of them from a second-order response surface)
// or a Fan along what a fit leaves open. Both give a Spread: the values at the centre and at the other places, from
// which the interval of any figure made of the observations follows.
package predict
