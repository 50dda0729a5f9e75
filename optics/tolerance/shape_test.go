package tolerance

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/optics/quantity"
)

// Quantiles against distribution functions, and standard deviations against the quantiles' own, by the middles of a
// million strata. Distribution functions: of a triangle (1+x)^2/2 below its top, of a normal one cut on both sides
// (F(x) - F(-c))/(1 - 2 F(-c)).
func TestShapes(t *testing.T) {
	triangular := Tolerance{Shape: Triangular, Value: quantity.Quantity{Value: 2}}
	truncated := Tolerance{Shape: Truncated, Value: quantity.Quantity{Value: 2}, Cut: 3}
	lots := OneOf(quantity.Quantity{Value: 10}, []quantity.Quantity{{Value: 12}, {Value: 9}, {Value: 12}, {Value: 10}})
	n := distuv.Normal{Sigma: 2}
	for _, p := range []float64{0, 0.01, 0.3, 0.5, 0.77, 1} {
		x := triangular.Quantile(p) / 2
		below, above := (1+x)*(1+x)/2, 1-(1-x)*(1-x)/2
		if x <= 0 && math.Abs(below-p) > 1e-12 || x > 0 && math.Abs(above-p) > 1e-12 {
			t.Errorf("triangular: %g at %g", x, p)
		}
		x = truncated.Quantile(p)
		if f := (n.CDF(x) - n.CDF(-3)) / (1 - 2*n.CDF(-3)); math.Abs(f-p) > 1e-9 || math.Abs(x) > 3+1e-9 {
			t.Errorf("truncated: %g at %g, where the distribution is %g", x, p, f)
		}
	}
	for k, want := range []float64{-1, 0, 2, 2} {
		for _, p := range []float64{0.01, 0.99} {
			if got := lots.Quantile((float64(k) + p) / 4); got != want {
				t.Errorf("lots: %g at %g of four, want %g", got, float64(k)+p, want)
			}
		}
	}
	for _, c := range []Tolerance{triangular, truncated, lots, {Shape: Uniform, Value: quantity.Quantity{Value: 2}}} {
		const strata = 1_000_000
		sum := 0.0
		for k := range strata {
			x := c.Quantile((float64(k) + 0.5) / strata)
			sum += x * x
		}
		if got, want := c.Sigma(), math.Sqrt(sum/strata); math.Abs(got-want) > 1e-4*want {
			t.Errorf("%s: standard deviation %g, want %g", c.Shape, got, want)
		}
		if low, high := c.Ends(); low != c.Quantile(0) && c.Shape != Truncated || high < c.Quantile(1)-1e-9 {
			t.Errorf("%s ends at %g and %g", c.Shape, low, high)
		}
	}
}
