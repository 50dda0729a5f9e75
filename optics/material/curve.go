package material

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/interp"
)

// Curve is a quantity that a data sheet states at several points: between them it is a monotone cubic, which overshoots
// no point (F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5, 300, 1984; gonum's), of two points a straight
// line. Outside them it is not known. It is immutable.
type Curve struct {
	x, y []float64
	fit  interp.FritschButland
}

// NewCurve returns the curve through points, in any order: two or more, finite, each at another x.
func NewCurve(points [][2]float64) (*Curve, error) {
	if len(points) < 2 {
		return nil, fmt.Errorf("a curve needs two points or more, got %d", len(points))
	}
	points = slices.Clone(points)
	slices.SortFunc(points, func(a, b [2]float64) int {
		if a[0] < b[0] {
			return -1
		}
		return 1
	})
	c := &Curve{}
	for i, p := range points {
		if math.IsNaN(p[0]+p[1]) || math.IsInf(p[0]+p[1], 0) {
			return nil, fmt.Errorf("a point of a curve is not a finite number")
		}
		if i > 0 && p[0] == points[i-1][0] {
			return nil, fmt.Errorf("two points of a curve are at the same place")
		}
		c.x, c.y = append(c.x, p[0]), append(c.y, p[1])
	}
	return c, c.fit.Fit(c.x, c.y)
}

// Range returns the first and the last x.
func (c *Curve) Range() (lo, hi float64) { return c.x[0], c.x[len(c.x)-1] }

// Points returns how many points the curve has.
func (c *Curve) Points() int { return len(c.x) }

// Holds reports whether x is within the points; rounding of the last digits is no excess.
func (c *Curve) Holds(x float64) bool {
	lo, hi := c.Range()
	slack := 1e-9 * (hi - lo)
	return x >= lo-slack && x <= hi+slack
}

// At returns the value at x, which must hold.
func (c *Curve) At(x float64) float64 {
	lo, hi := c.Range()
	return c.fit.Predict(min(max(x, lo), hi))
}

// each reports whether every value does.
func (c *Curve) each(does func(float64) bool) bool {
	return !slices.ContainsFunc(c.y, func(y float64) bool { return !does(y) })
}
