package limits

import (
	"fmt"
	"math"

	"wedgework/reports/uncertainty"
)

// Prior is what is known of a figure before a unit is measured: how it is distributed over the production, normally,
// and where that is known from.
type Prior struct {
	Name     string  // of what was measured to know it: "lots 26-01 to 26-10"
	Mean     float64 // in the unit of the figure
	Standard float64 // the standard deviation over the production
}

// Risk is what a decision by a rule risks when the prior holds.
type Risk struct {
	Prior Prior
	// Conforming is the probability that a unit of the production meets the limit, before it is measured.
	Conforming float64
	// Posterior is the probability that this unit does, given its reading and the prior (JCGM 106:2012, 7.2).
	Posterior float64
	// Consumer and Producer are the global risks (JCGM 106:2012, clause 9): the probabilities that a unit is accepted
	// and does not conform, and that it conforms and is not accepted.
	Consumer, Producer float64
	// FalselyFailed is the part of Producer that is not merely undecided: the unit conforms and fails.
	FalselyFailed float64
}

func (p *Prior) check(q Quantity) error {
	switch {
	case p == nil:
		return nil
	case p.Name == "":
		return fmt.Errorf("limit on %s: the prior has no name; expected what it is known from, such as \"lots 26-01 "+
			"to 26-10\"", q)
	case math.IsNaN(p.Mean) || math.IsInf(p.Mean, 0) || !(p.Standard > 0) || math.IsInf(p.Standard, 1):
		return fmt.Errorf("limit on %s: the prior %q has the mean %g %s and the standard deviation %g %s; expected a "+
			"finite mean and a positive standard deviation", q, p.Name, p.Mean, q.Unit(), p.Standard,
			q.Unit())
	}
	return nil
}

// risk works out the risks of a guarded decision with guard band w about the limit. The figure has a positive standard
// uncertainty, and where that has few degrees of freedom Student's distribution.
func (p Prior) risk(l Limit, w float64, figure uncertainty.Estimate) *Risk {
	low, high := l.conforming()
	r := &Risk{Prior: p, Conforming: uncertainty.Conformance(low, high, p.Mean, p.Standard)}
	known := uncertainty.Estimate{Value: p.Mean, Standard: p.Standard}
	r.Posterior = uncertainty.Posterior(known, figure, low, high)
	at := func(w float64) (consumer, producer float64) {
		from, to := low+w, high-w // one of them is infinite and stays so
		consumer, producer, err := uncertainty.Risks(known, low, high, from, to, figure)
		if err != nil { // all is positive and in order
			panic("limits: " + err.Error())
		}
		return consumer, producer
	}
	r.Consumer, r.Producer = at(w)
	_, r.FalselyFailed = at(-w)
	return r
}
