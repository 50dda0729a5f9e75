package fitting

import (
	"math"
	"testing"
)

// TestLogPhi compares with values of the normal distribution function in tables (Abramowitz and Stegun,
// table 26.2) and checks that the two forms meet.
func TestLogPhi(t *testing.T) {
	for _, c := range []struct{ z, want float64 }{
		{0, math.Log(0.5)},
		{1.6448536269514722, math.Log(0.95)},
		{-2, math.Log(0.0227501319)},
		{-5, -15.064998393988726},
		{10, -7.619853024160527e-24},
	} {
		if got := logPhi(c.z); math.Abs(got-c.want) > 1e-8*math.Abs(c.want) {
			t.Errorf("at %g: got %.12g, want %.12g", c.z, got, c.want)
		}
	}
	// Three terms of the series leave 15/z^6.
	if a, b := logPhi(-24.999999), logPhi(-25.000001); math.Abs(a-b) > 1e-4 {
		t.Errorf("the two forms meet at -25 with %.9g and %.9g", a, b)
	}
}
