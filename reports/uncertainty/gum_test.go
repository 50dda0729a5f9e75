package uncertainty_test

import (
	"math"
	"testing"

	"wedgework/reports/uncertainty"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.8g, want %.8g within %g", what, got, want, tolerance)
	}
}

// TestEndGauge is example H.1 of JCGM 100:2008, an end gauge calibrated against a standard of the same
// nominal length. Inputs and results as printed there; the Guide cuts 16.66 to 16 and uses k = 2.92.
func TestEndGauge(t *testing.T) {
	length := func(x []float64) []float64 {
		ls, d, as, th, da, dth := x[0], x[1], x[2], x[3], x[4], x[5]
		return []float64{ls + d - ls*(da*th+as*dth)}
	}
	p, err := uncertainty.Propagate(length, []uncertainty.Estimate{
		{Value: 50000623, Standard: 25, DOF: 18},
		{Value: 215, Standard: 9.7, DOF: 25.6},
		{Value: 11.5e-6, Standard: 1.2e-6, DOF: math.Inf(1)},
		{Value: -0.1, Standard: 0.41, DOF: math.Inf(1)},
		{Value: 0, Standard: 0.58e-6, DOF: 50},
		{Value: 0, Standard: 0.029, DOF: 2},
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	// Tolerances are half a digit of what the Guide prints, or of its recomputation to more digits.
	e := p.Estimates[0]
	near(t, "length", e.Value, 50000838, 0.5)
	near(t, "combined standard uncertainty", e.Standard, 31.71, 0.01)
	near(t, "effective degrees of freedom", e.DOF, 16.66, 0.01)
	for i, want := range []float64{25, 9.7, 0, 0, 2.9, 16.7} {
		near(t, "contribution", math.Abs(p.Contributions[0][i]), want, 0.05)
	}
	k := uncertainty.CoverageFactor(0.99, e.DOF)
	near(t, "coverage factor at 99 %", k, 2.92, 0.005)
	near(t, "expanded uncertainty at 99 %", k*e.Standard, 93, 0.7)
}

// TestImpedance is example H.2 of JCGM 100:2008: resistance, reactance and impedance from five
// simultaneous readings of voltage, current and phase. Results as printed there (table H.3).
func TestImpedance(t *testing.T) {
	means, r, err := uncertainty.Means([][]float64{
		{5.007, 4.994, 5.005, 4.990, 4.999},
		{19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3},
		{1.0456, 1.0438, 1.0468, 1.0428, 1.0433},
	})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "r(V, I)", r[0][1], -0.36, 0.005)
	near(t, "r(V, phi)", r[0][2], 0.86, 0.005)
	near(t, "r(I, phi)", r[1][2], -0.65, 0.005)
	p, err := uncertainty.Propagate(func(x []float64) []float64 {
		z := x[0] / x[1]
		return []float64{z * math.Cos(x[2]), z * math.Sin(x[2]), z}
	}, means, r)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []struct {
		name                string
		value, u, tolerance float64
	}{{"R", 127.732, 0.071, 0.0005}, {"X", 219.847, 0.295, 0.001}, {"Z", 254.260, 0.236, 0.0005}} {
		near(t, want.name, p.Estimates[i].Value, want.value, 0.0006)
		near(t, "u("+want.name+")", p.Estimates[i].Standard, want.u, want.tolerance)
		if got := p.Estimates[i].DOF; got != 4 {
			t.Errorf("degrees of freedom of %s: got %g, want 4", want.name, got)
		}
	}
	near(t, "r(R, X)", p.Correlation[0][1], -0.588, 0.0005)
	near(t, "r(R, Z)", p.Correlation[0][2], -0.485, 0.0005)
	near(t, "r(X, Z)", p.Correlation[1][2], 0.993, 0.0005)
}

// TestCoverageFactor compares with table G.2 of JCGM 100:2008.
func TestCoverageFactor(t *testing.T) {
	for _, c := range []struct{ p, dof, want, tolerance float64 }{
		{0.95, 1, 12.71, 0.005},
		{0.95, 10, 2.23, 0.005},
		{0.95, 10.9, 2.23, 0.005}, // cut, not rounded
		{0.9545, 10, 2.28, 0.005},
		{0.99, 50, 2.68, 0.005},
		{0.95, 0, 1.960, 0.0005},
		{0.95, math.Inf(1), 1.960, 0.0005},
		{uncertainty.Confidence, 0, 2, 1e-12},
	} {
		near(t, "k", uncertainty.CoverageFactor(c.p, c.dof), c.want, c.tolerance)
	}
	for _, bad := range [][2]float64{{0, 5}, {1, 5}, {0.95, 0.5}, {math.NaN(), 5}} {
		if got := uncertainty.CoverageFactor(bad[0], bad[1]); !math.IsNaN(got) {
			t.Errorf("p %g, dof %g: got %g, want NaN", bad[0], bad[1], got)
		}
	}
}

func TestWelchSatterthwaite(t *testing.T) {
	// Two equal contributions with the same degrees of freedom double them: (2u^2)^2 / (2 u^4/v) = 2v.
	near(t, "two alike", uncertainty.WelchSatterthwaite([]float64{1, 1}, []float64{5, 5}), 10, 1e-12)
	near(t, "one alone", uncertainty.WelchSatterthwaite([]float64{3, 0}, []float64{7, 2}), 7, 1e-12)
	near(t, "well known", uncertainty.WelchSatterthwaite([]float64{3, 4}, []float64{0, math.Inf(1)}), 0, 0)
}

// TestTypeA takes the temperatures of JCGM 100:2008, 4.4.3, table 1: 20 readings with the mean 100.145 degC and the
// standard deviation 1.489 degC, so that the mean is known to 0.333 degC.
func TestTypeA(t *testing.T) {
	readings := []float64{96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68, 100.95,
		101.11, 101.20, 101.57, 101.84, 102.36, 102.72}
	e, err := uncertainty.TypeA(readings, len(readings))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", e.Value, 100.145, 5e-4)
	near(t, "standard uncertainty", e.Standard, 0.333, 5e-4)
	near(t, "degrees of freedom", e.DOF, 19, 0)
	e, err = uncertainty.TypeA(readings, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "of a single reading", e.Standard, 1.489, 5e-4)
	// Two groups at different levels, each with the variance 2: pooled 2 with 1 + 1 degrees of freedom; a single one is mute.
	p, err := uncertainty.Pooled([][]float64{{1, 3}, {11, 13}, {100}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pooled", p.Standard, math.Sqrt2, 1e-12)
	near(t, "pooled degrees of freedom", p.DOF, 2, 0)
	for _, o := range [][]float64{nil, {1}, {1, math.NaN()}} {
		if _, err := uncertainty.TypeA(o, 1); err == nil {
			t.Errorf("%v: expected an error", o)
		}
	}
	if _, err := uncertainty.Pooled([][]float64{{1}, {2}}); err == nil {
		t.Error("nothing repeated: expected an error")
	}
}

func TestMeansRefuse(t *testing.T) {
	for _, o := range [][][]float64{nil, {{1}}, {{1, 2}, {1, 2, 3}}} {
		if _, _, err := uncertainty.Means(o); err == nil {
			t.Errorf("%v: expected an error", o)
		}
	}
}

func TestPropagateRefuses(t *testing.T) {
	root := func(x []float64) []float64 { return []float64{math.Sqrt(x[0])} }
	if _, err := uncertainty.Propagate(root, []uncertainty.Estimate{{Value: 0.1, Standard: 1}}, nil); err == nil {
		t.Error("a function that ends within an uncertainty: expected an error")
	}
	if _, err := uncertainty.Propagate(root, []uncertainty.Estimate{{Value: 1, Standard: -1}}, nil); err == nil {
		t.Error("a negative uncertainty: expected an error")
	}
}
