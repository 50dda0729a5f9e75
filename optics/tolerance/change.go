package tolerance

import (
	"context"
	"fmt"
	"math"
)

// Change is what becomes of the yield when one tolerance is made narrower or wider about its nominal value.
type Change struct {
	Good  int     // units that meet every limit
	Gain  float64 // of the yield, a share of the units; negative for a loss
	Error float64 // standard error of Gain
}

// Changes is what becomes of the yield when tolerances are changed one at a time.
type Changes struct {
	Paths   []string   // of the toleranced parameters, in the stack's order
	Good    int        // units that meet every limit as the tolerances are, of Trials
	Factors []float64  // by which each tolerance is multiplied
	By      [][]Change // by parameter and factor
}

// Changes evaluates the same Trials units with each tolerance multiplied by each factor in turn, 0 to take it away: as
// all else stays as it was drawn, a change of the yield stands out from chance as soon as units change sides (Q.
// McNemar, Psychometrika 12, 153, 1947, has the error). good tells from its figures whether a unit meets every limit.
// Errors are those of Run.
func (s Study) Changes(ctx context.Context, factors []float64, good func(figures []float64) bool) (*Changes, error) {
	w, err := s.begin(ctx)
	if err != nil {
		return nil, err
	}
	m, n := len(w.sample.Axes), s.Trials
	total := n * (1 + m*len(factors))
	if n < 2 || total > 100*most {
		return nil, fmt.Errorf("%d trials of %d tolerances, each changed in %d ways: expected at least 2 trials, and "+
			"no more than %d units in all", n, m, len(factors), 100*most)
	}
	meets := make([]bool, total)
	err = w.every(total, func(unit, j int) float64 {
		factor := 1.0
		if way := unit/n - 1; way >= 0 && way/len(factors) == j {
			factor = factors[way%len(factors)]
		}
		if factor == 0 {
			return 0
		}
		return w.sample.Axes[j].Displaced(factor * w.departure(unit%n, j))
	}, func(unit int, figures []float64) { meets[unit] = good(figures) })
	if err != nil {
		return nil, err
	}
	out := &Changes{Paths: w.sample.Paths(), Factors: factors, By: make([][]Change, m)}
	base := meets[:n]
	for _, yes := range base {
		if yes {
			out.Good++
		}
	}
	for j := range m {
		for f := range factors {
			way := meets[n*(1+j*len(factors)+f):][:n]
			out.By[j] = append(out.By[j], changed(base, way))
		}
	}
	return out, nil
}

// changed compares the units with and without a change.
func changed(before, after []bool) (c Change) {
	n, gained, lost := float64(len(before)), 0.0, 0.0
	for t := range before {
		switch {
		case after[t] && !before[t]:
			gained++
		case before[t] && !after[t]:
			lost++
		}
		if after[t] {
			c.Good++
		}
	}
	c.Gain = (gained - lost) / n
	c.Error = math.Sqrt(max((gained+lost)/n-c.Gain*c.Gain, 0) / n)
	return c
}
