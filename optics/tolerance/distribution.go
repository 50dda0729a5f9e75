package tolerance

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat"
)

// Distribution is one figure over all units.
type Distribution struct {
	Sorted          []float64 // rising
	Mean, Deviation float64   // standard deviation
}

// Distribution sorts a figure of the units.
func (o *Outcome) Distribution(figure int) Distribution {
	d := Distribution{Sorted: slices.Sorted(slices.Values(o.Values[figure]))}
	d.Mean, d.Deviation = stat.MeanStdDev(d.Sorted, nil)
	if len(d.Sorted) < 2 {
		d.Deviation = 0
	}
	return d
}

// Quantile returns the value that a share p of the units lies below: between two units in proportion, each the middle of its
// stratum.
func (d Distribution) Quantile(p float64) float64 {
	last := len(d.Sorted) - 1
	place := min(max(p*float64(len(d.Sorted))-0.5, 0), float64(last))
	k := int(place)
	return d.Sorted[k] + (place-math.Floor(place))*(d.Sorted[min(k+1, last)]-d.Sorted[k])
}

// Yield returns the 95 % interval of the share of which n units show some to be good (C. J. Clopper and E. S. Pearson,
// Biometrika 26, 404, 1934). Units drawn as a hypercube scatter less than those it is made for.
func Yield(good, n int) (low, high float64) {
	const out = 0.025
	high = 1
	if good > 0 {
		low = mathext.InvRegIncBeta(float64(good), float64(n-good+1), out)
	}
	if good < n {
		high = mathext.InvRegIncBeta(float64(good+1), float64(n-good), 1-out)
	}
	return low, high
}
