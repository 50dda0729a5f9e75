package gauge

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/reports/uncertainty"
)

// Fit says whether a bench is fine enough for a limit.
type Fit string

// The steps of practice (10 % and 30 % of the tolerance; common practice, no source that was read).
const (
	Fine     Fit = "suitable"
	Marginal Fit = "marginal"
	Coarse   Fit = "too coarse"
)

const (
	fineUpTo     = 0.1
	marginalUpTo = 0.3
)

// Suitability is a bench beside a tolerance.
type Suitability struct {
	Lower, Upper float64
	// Ratio is six standard deviations of the bench over the tolerance ("precision to tolerance").
	Ratio float64
	Fit   Fit
	// Guard is the expanded uncertainty of one reading by the bench alone, with the coverage factor of the degrees of
	// freedom of the study: the least guard band.
	Guard float64
	// Undecided is the share of parts like those of the study, normally distributed, that are nearer to a limit than
	// the guard band, and so can be neither accepted nor rejected by one reading.
	Undecided float64
}

// Against compares the bench with a tolerance. A figure with one limit has a natural bound as the other: a leakage
// amplitude, a loss, a PDL and a delay are not below zero.
func (s *Study) Against(lower, upper float64) Suitability {
	r := Suitability{Lower: lower, Upper: upper, Ratio: 6 * s.Total.Deviation() / (upper - lower), Fit: Coarse}
	switch {
	case r.Ratio <= fineUpTo:
		r.Fit = Fine
	case r.Ratio <= marginalUpTo:
		r.Fit = Marginal
	}
	r.Guard, _ = uncertainty.Estimate{Standard: s.Total.Deviation(), DOF: max(s.Total.DOF, 1)}.Expanded()
	sd := s.Between.Deviation()
	near := func(limit float64) float64 {
		if sd == 0 {
			if math.Abs(s.Mean-limit) < r.Guard {
				return 1
			}
			return 0
		}
		d := distuv.Normal{Mu: s.Mean, Sigma: sd}
		return d.CDF(limit+r.Guard) - d.CDF(limit-r.Guard)
	}
	for _, limit := range []float64{lower, upper} {
		if limit != 0 && !math.IsInf(limit, 0) { // zero is the natural bound, and no unit is rejected by it
			r.Undecided += near(limit)
		}
	}
	r.Undecided = min(r.Undecided, 1)
	return r
}
