package gauge

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"wedgework/reports/lot"
	"wedgework/reports/uncertainty"
)

// Standard is a check standard: a part whose value is known, read on the bench from time to time.
type Standard struct {
	Reference uncertainty.Estimate // what its certificate says
	Values    []float64            // in the order of time
	Times     []float64            // days since the first; nil: evenly spaced, one apart

	Bias uncertainty.Estimate // mean of the values less the reference
	// Now is the bias at the last time by the straight line through the values, which counts where they drift.
	Now     uncertainty.Estimate
	Drift   *lot.Trend // per day, or per reading without times
	Chart   *lot.Chart
	Changes []lot.Change
}

// leastOfStandard is how many values a line and a chart need.
const leastOfStandard = 3

// NewStandard examines a check standard. Times, in days, may be nil; they are put in order with the values.
func NewStandard(values, times []float64, reference uncertainty.Estimate) (*Standard, error) {
	n := len(values)
	switch {
	case n < leastOfStandard:
		return nil, fmt.Errorf("%d readings of the check standard: at least %d are needed", n, leastOfStandard)
	case times != nil && len(times) != n:
		return nil, fmt.Errorf("%d readings of the check standard and %d times", n, len(times))
	case !(reference.Standard >= 0):
		return nil, fmt.Errorf("the standard uncertainty of the reference is %g; expected zero or more",
			reference.Standard)
	}
	s := &Standard{Reference: reference}
	order := Order(times)
	if times == nil {
		for i := range values {
			order = append(order, i)
		}
	}
	at := make([]float64, n)
	for k, i := range order {
		s.Values = append(s.Values, values[i])
		at[k] = float64(k)
		if times != nil {
			at[k] = times[i] - times[order[0]]
		}
	}
	if times != nil {
		s.Times = at
		if at[n-1] == 0 {
			return nil, errors.New("all readings of the check standard have the same time")
		}
	}
	s.judge(at)
	return s, nil
}

// Order lists the indices of times from the earliest on.
func Order(times []float64) []int {
	order := make([]int, len(times))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(times[a], times[b]) })
	return order
}

// judge works out bias and drift. The uncertainty of a mean of readings that drift is that of their scatter all the
// same: the drift is reported beside it.
func (s *Standard) judge(at []float64) {
	n := float64(len(s.Values))
	mean, sd := stat.MeanStdDev(s.Values, nil)
	read := sd / math.Sqrt(n)
	s.Bias = s.less(mean, read, n-1)
	s.Drift, s.Chart, s.Changes = lot.NewTrend(at, s.Values), lot.NewChart(s.Values), lot.Changes(s.Values)
	middle, about := stat.Mean(at, nil), 0.0
	for i, v := range s.Values {
		r := v - mean - s.Drift.Slope*(at[i]-middle)
		about += r * r
	}
	ahead := at[len(at)-1] - middle
	scatter := about / (n - 2)
	s.Now = s.less(mean+s.Drift.Slope*ahead,
		math.Sqrt(scatter/n+ahead*ahead*s.Drift.Standard*s.Drift.Standard), n-2)
}

// less subtracts the reference.
func (s *Standard) less(value, standard, dof float64) uncertainty.Estimate {
	u := math.Hypot(standard, s.Reference.Standard)
	return uncertainty.Estimate{Value: value - s.Reference.Value, Standard: u,
		DOF: uncertainty.WelchSatterthwaite([]float64{standard, s.Reference.Standard}, []float64{dof, s.Reference.DOF})}
}

// Drifts reports a slope beyond its expanded uncertainty, Biased a bias beyond its own: at the end where the values
// drift, of their mean where they do not.
func (s *Standard) Drifts() bool { return s.Drift.Significant() }

// Biased reports whether the bias in force exceeds its expanded uncertainty.
func (s *Standard) Biased() bool {
	b := s.InForce()
	u, _ := b.Expanded()
	return math.Abs(b.Value) > u
}

// InForce is the bias of the bench today.
func (s *Standard) InForce() uncertainty.Estimate {
	if s.Drifts() {
		return s.Now
	}
	return s.Bias
}
