package tolerance

import (
	"context"
	"fmt"
	"slices"

	"wedgework/optics/quantity"
)

const (
	// MostCorners is the greatest number of tolerances that are combined: n tolerances have 2^n corners.
	MostCorners = 10
	// NormalReach is the end of a normal tolerance in standard deviations (common practice, no source).
	NormalReach = 3
)

// Corner is a unit with every toleranced parameter at an end of its tolerance.
type Corner struct {
	Value float64             // of the figure: dB, a DGD in seconds
	At    []quantity.Quantity // the parameters, in the order of Corners.Paths
}

// Corners is the worst case over the ends of the tolerances.
type Corners struct {
	Paths   []string  // of the toleranced parameters, in the stack's order
	Nominal []float64 // by figure, of the stack itself: dB, a DGD in seconds
	Worst   []Corner  // by figure
	Count   int       // of corners: 2 to the power of the number of tolerances
}

// Corners evaluates every combination of the ends of the tolerances and returns the worst for each figure: the
// end of each tolerance, NormalReach standard deviations of a normal one. A leakage is a square of sums,
// and worst at a corner; a figure that is worst between the ends shows it in trials. More than MostCorners tolerances
// are an error, as is what Run refuses.
func (s Study) Corners(ctx context.Context) (*Corners, error) {
	w, err := s.begin(ctx)
	if err != nil {
		return nil, err
	}
	if len(w.sample.Axes) > MostCorners {
		return nil, fmt.Errorf("%d tolerances have too many corners: at most %d are combined; draw trials",
			len(w.sample.Axes),
			MostCorners)
	}
	centre, err := w.evaluate(nil)
	if err != nil {
		return nil, err
	}
	out := &Corners{Paths: w.sample.Paths(), Nominal: w.figures(centre), Worst: make([]Corner, len(s.Figures)),
		Count: 1 << len(w.sample.Axes)}
	corner := func(n int) []float64 {
		x := make([]float64, len(w.sample.Axes))
		for j, a := range w.sample.Axes {
			low, high := w.sample.By[j].Ends()
			if n>>j&1 == 1 {
				high = low
			}
			x[j] = a.Displaced(high)
		}
		return x
	}
	at, all := make([][]float64, out.Count), make([][]float64, out.Count)
	for n := range at {
		at[n] = corner(n)
	}
	err = w.every(out.Count, func(n, j int) float64 { return at[n][j] }, func(n int, figures []float64) {
		all[n] = slices.Clone(figures)
	})
	if err != nil {
		return nil, err
	}
	for k, f := range s.Figures {
		worst := 0
		for n := range all {
			if f.Least() && all[n][k] < all[worst][k] || !f.Least() && all[n][k] > all[worst][k] {
				worst = n
			}
		}
		out.Worst[k] = Corner{all[worst][k], w.sample.At(corner(worst))}
	}
	return out, nil
}
