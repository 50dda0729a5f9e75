package readings

import (
	"cmp"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// A PDL or a DGD is the length of a vector, and noise adds its own length to it: of three components with the standard
// uncertainty u, 3 u^2 to the square in the mean. What was computed from powers or matrices says how much; that is
// taken off. A column of a file does not say whether the instrument has taken it off already, or how many components
// its noise has, so that anything from nothing to all of 3 u^2 is possible: half of it is taken off, and the other half
// stays open. u itself is often stated for another figure. It is no more than what the readings of a sweep scatter by,
// and where noise makes the whole reading, they scatter least for it: of one component by root(1 - 2/pi) u (the
// half-normal distribution; of three, Maxwell's, by root(3 - 8/pi) u).
var leastScatter = 1 - 2/math.Pi

// scatterLeast is how many readings of a sweep say what they scatter by.
const scatterLeast = 8

// unbias takes the share of noise off the squares from an index on, and finds the level at which their errors act.
func (d *Set) unbias(from int, b uncertainty.Budget) {
	runs := make([][]int, len(d.Runs))
	for i := from; i < len(d.Obs); i++ {
		runs[d.Obs[i].Run] = append(runs[d.Obs[i].Run], i)
	}
	for _, all := range runs {
		slices.SortStableFunc(all, func(i, j int) int { return cmp.Compare(d.Obs[i].Wavelength, d.Obs[j].Wavelength) })
		most := d.mostNoise(all)
		for _, i := range all {
			o := &d.Obs[i]
			if known := d.Rows[o.Row].Of(o.Quantity).Bias; !math.IsNaN(known) {
				o.Value -= known
				continue
			}
			o.Open = components * min(math.Pow(o.PointNoise(b), 2), most) / 2
			o.Value -= o.Open
		}
		for k, i := range all {
			sum, n := 0.0, 0
			for _, j := range all[max(k-2, 0):min(k+3, len(all))] {
				sum, n = sum+d.Obs[j].Value, n+1
			}
			d.Obs[i].Power = max(sum/float64(n), 0)
		}
	}
}

// mostNoise is the greatest noise, as a variance, that readings of a sweep in order of wavelength may have by what they
// scatter: from the differences of neighbours (J. von Neumann, Annals of Mathematical Statistics 12, 367 (1941)), which
// leave out what changes slowly, two standard deviations above, and what rounding to the last digit hides. Infinite
// where readings are few.
func (d *Set) mostNoise(all []int) float64 {
	n := len(all) - 1
	if n+1 < scatterLeast {
		return math.Inf(1)
	}
	sum := 0.0
	for k := 1; k < len(all); k++ {
		by := d.Obs[all[k]].Read - d.Obs[all[k-1]].Read
		sum += by * by / 2
	}
	digit := d.Digit[d.Obs[all[0]].Quantity]
	// Of normal readings the mean of these has a relative variance of about 3/n.
	s := sum / float64(n) * (1 + 2*math.Sqrt(3/float64(n)))
	return s/leastScatter + digit*digit/12
}

// BiasName is how a budget calls what is open about the share of noise in a PDL or DGD.
func BiasName(q limits.Quantity) string { return "share of noise in the " + q.String() }

// OpenTerm is that contribution: one error of all readings of a quantity; false where nothing is open.
func (d *Set) OpenTerm(q limits.Quantity) (Term, bool) {
	t := Term{Name: BiasName(q), Distribution: uncertainty.Rectangular, Divisor: math.Sqrt(3),
		Shared: uncertainty.ByAll, Value: quantity.Of(0, q.Unit()), U: make([]float64, len(d.Obs))}
	some := false
	for i := range d.Obs {
		if o := &d.Obs[i]; o.Quantity == q && o.Open > 0 {
			t.U[i] = o.Open / math.Sqrt(3)
			some = true
		}
	}
	return t, some
}
