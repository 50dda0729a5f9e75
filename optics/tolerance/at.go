package tolerance

import (
	"context"
	"fmt"
	"slices"
)

// At computes the figures of n units whose toleranced parameters have the values that value returns, in SI units, a
// level in dB: of the parameter j of Paths, in the stack's order. The result is by unit. Trials, Seed and the shapes of
// the tolerances play no part; their values say how far units are from the stack, for what is computed together.
func (s Study) At(ctx context.Context, n int, value func(unit int, path string) float64) ([][]float64, error) {
	w, err := s.begin(ctx)
	if err != nil {
		return nil, err
	}
	if n < 1 || n*(len(w.sample.Axes)+len(s.Figures)) > most {
		return nil, fmt.Errorf("%d units of %d parameters and %d figures: expected at least 1 unit, and no more than "+
			"%d numbers in all", n, len(w.sample.Axes), len(s.Figures), most)
	}
	all := make([][]float64, n)
	err = w.every(n, func(unit, j int) float64 {
		a := w.sample.Axes[j]
		return a.Displaced(value(unit, a.Path) - a.Nominal.SI())
	}, func(unit int, figures []float64) { all[unit] = slices.Clone(figures) })
	return all, err
}
