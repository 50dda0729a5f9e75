// Package decide decides: key figures against the models, and figures against limits.
//
// Evidence is what it decides on: the measurement, and what the selected model says of every observation. KeyFigures
// gives the figures on which agreement with the model rests (figures.go), each as a function of the values of all
// observations with its gradient, so that its uncertainty and its covariance with the others follow from the
// measurement; a further figure is one more value of type declared. Decisions decides the limits (limits.go): the
// reading that speaks for a limit, its budget (budget.go), the bias that noise gives an extreme (bias.go), and the
// decision by the rule in force, which rests on the Monte Carlo method where linear propagation does not hold
// (montecarlo.go).
package decide
