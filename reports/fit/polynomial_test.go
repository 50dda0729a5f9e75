package fit_test

import (
	"math"
	"testing"

	"wedgework/reports/fit"
)

// TestPolynomial fits the line of GUM's thermometer (JCGM 100:2008, H.3, table H.6): corrections b over t - 20 degC,
// with the intercept, the slope and the deviation that it prints.
func TestPolynomial(t *testing.T) {
	at := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	b := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	var x []float64
	for _, v := range at {
		x = append(x, v-20)
	}
	f, err := fit.Polynomial(x, b, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name           string
		got, want, tol float64
	}{{"intercept", f.Coefficients[0], -0.1712, 5e-5}, {"slope", f.Coefficients[1], 0.00218, 5e-6},
		{"deviation", f.Deviation, 0.0035, 5e-5}, {"at 30 degC", f.At(10), -0.1494, 5e-5}} {
		if math.Abs(c.got-c.want) > c.tol {
			t.Errorf("%s: %g, want %g", c.name, c.got, c.want)
		}
	}
	if _, err := fit.Polynomial(x[:2], b[:2], 2); err == nil {
		t.Error("three coefficients of two values")
	}
	if _, err := fit.Polynomial([]float64{1, 1, 1}, []float64{1, 2, 3}, 1); err == nil {
		t.Error("a line through one place")
	}
}
