package tolerance

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat"
)

// Distribution is one figure over all units.
type Distribution struct {
	Count           int
	Least, Greatest float64   // dB, a DGD in seconds, as all values
	Mean, Deviation float64   // mean and standard deviation (n-1); 0 for a single unit
	Sorted          []float64 // in rising order: the values of all units, or of the first Kept
	tally           *Tally    // of more units than Sorted
}

// Distribution returns how a figure, counted from 0, is spread over the units.
func (o *Outcome) Distribution(figure int) Distribution {
	d := Distribution{Sorted: slices.Sorted(slices.Values(o.Values[figure]))}
	if o.Units > len(d.Sorted) {
		t := o.Tallies[figure]
		d.Count, d.Least, d.Greatest, d.Mean, d.Deviation, d.tally = t.Count, t.Least, t.Greatest, t.Mean(),
			t.Deviation(), t
		return d
	}
	d.Count, d.Least, d.Greatest = len(d.Sorted), d.Sorted[0], d.Sorted[len(d.Sorted)-1]
	d.Mean, d.Deviation = stat.MeanStdDev(d.Sorted, nil)
	if len(d.Sorted) < 2 {
		d.Deviation = 0
	}
	return d
}

// Quantile returns the value below which a share p, from 0 to 1, of the units lies: between two units in proportion,
// each the middle of its stratum of 1/n (the plotting position (k-1/2)/n of A. Hazen, from memory). Of more than Kept
// units it is known to the figure's Resolution.
func (d Distribution) Quantile(p float64) float64 {
	if d.tally != nil {
		return d.tally.Quantile(p)
	}
	last := len(d.Sorted) - 1
	place := min(max(p*float64(len(d.Sorted))-0.5, 0), float64(last))
	k := int(place)
	return d.Sorted[k] + (place-math.Floor(place))*(d.Sorted[min(k+1, last)]-d.Sorted[k])
}

// Interval returns the 95 % interval of the value below which a share p of all units that could be drawn lies. It takes
// nothing for granted about the distribution: the value of which as many units are drawn below as there are has the
// interval of Yield for its share, whose ends are values again (H. A. David and H. N. Nagaraja, Order Statistics, 7.1,
// from memory). A figure's Resolution, to which Quantile is known of many units, is added.
func (d Distribution) Interval(p float64) (low, high float64) {
	a, b := Yield(int(math.Round(p*float64(d.Count))), d.Count)
	low, high = d.Quantile(a), d.Quantile(b)
	if d.tally != nil {
		low, high = low-d.tally.step, high+d.tally.step
	}
	return low, high
}

// Yield returns the central 95 % interval of the share of good units, from 0 to 1, when good of n units are good:
// quantiles of beta distributions (C. J. Clopper and E. S. Pearson, Biometrika 26, 404, 1934), which cover it at least
// 95 % of the times. n must be above 0.
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
