package readings

import (
	"math"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// Acts returns the standard uncertainty that a contribution of the budget gives a figure, in the unit of the figure; 0
// where it does not bear on it, or acts through a slope over wavelength or temperature. A contribution may be declared
// for one figure and is then of that figure as it stands. Otherwise a level in dB is that of one reading of power. A
// PDL and an extinction ratio are the ratio of two of them: what each has of its own counts twice (JCGM 100:2008,
// equation 16), and the errors of the power meter and of the reference, which are factors of both, leave it. A delay is
// no level, and a level no delay.
func Acts(q limits.Quantity, c uncertainty.Contribution) float64 {
	d := c.Value.Dimension()
	switch {
	case d != quantity.OfLevel && d != quantity.OfTime, (d == quantity.OfTime) != (q == limits.DGD),
		c.Figure != "" && c.Figure != string(q):
		return 0
	}
	u, err := c.Standard()
	switch {
	case err != nil: // Check has refused it
		return 0
	case q == limits.DGD:
		return u / PerUnit(quantity.MustNamed(q.Unit()))
	case q != limits.PDL && q != limits.ExtinctionRatio || c.Figure != "":
		return u
	case c.SharedBy() == uncertainty.ByPoint:
		return math.Sqrt2 * u
	case strings.HasPrefix(c.Name, "power_meter") || strings.HasPrefix(c.Name, "reference"):
		return 0
	}
	return u
}

// LevelNoise is the standard uncertainty of a reading in its unit: what the file states and what the budget adds.
func (o *Observation) LevelNoise(b uncertainty.Budget) float64 {
	sum := o.Reference() * o.Reference()
	stated := !math.IsNaN(o.Stated)
	if stated {
		sum += o.Stated * o.Stated
	}
	for _, c := range b.Contributions {
		if !stated || c.SharedBy() != uncertainty.ByPoint {
			u := Acts(o.Quantity, c)
			sum += u * u
		}
	}
	return math.Sqrt(sum)
}

// PointNoise is the standard uncertainty of a reading in its unit that it shares with no other.
func (o *Observation) PointNoise(b uncertainty.Budget) float64 {
	if !math.IsNaN(o.Stated) {
		return o.Stated
	}
	sum := 0.0
	for _, c := range b.Contributions {
		if c.SharedBy() == uncertainty.ByPoint {
			u := Acts(o.Quantity, c)
			sum += u * u
		}
	}
	return math.Sqrt(sum)
}
