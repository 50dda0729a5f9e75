package uncertainty_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.8g, want %.8g within %g", what, got, want, tolerance)
	}
}

// TestEndGauge is example H.1 of JCGM 100:2008, an end gauge calibrated against a standard of the same nominal length,
// by the code that every budget of a report goes through: contributions stated as in H.1.3, their divisors, their sum,
// Welch and Satterthwaite. Lengths in nm, temperatures in K. The Guide cuts 16.66 to 16 and uses k = 2.92.
func TestEndGauge(t *testing.T) {
	const ls, as, theta = 50000623, 11.5e-6, -0.1 // the standard's length, expansion and temperature departure
	line := func(name string, value quantity.Quantity, d uncertainty.Distribution, dof,
		sensitivity float64) uncertainty.Line {
		c := uncertainty.Contribution{Name: name, Value: value, Distribution: d, DOF: dof}
		u, err := c.Standard()
		if err != nil {
			t.Fatal(err)
		}
		u /= quantity.Attach(1, value.Unit).SI() - quantity.Attach(0, value.Unit).SI()
		return uncertainty.Line{Name: name, Value: value, Distribution: d, Standard: u, Sensitivity: sensitivity,
			Contribution: math.Abs(sensitivity) * u, DOF: dof}
	}
	plain := func(v float64) quantity.Quantity { return quantity.Quantity{Value: v} }
	c := uncertainty.Combine([]uncertainty.Line{
		line("standard", quantity.Of(25, "nm"), uncertainty.Normal, 18, 1),
		line("comparator", quantity.Of(9.7, "nm"), uncertainty.Normal, 25.6, 1),
		line("expansion of the standard", plain(2e-6), uncertainty.Rectangular, math.Inf(1), 0),
		line("temperature cycle", quantity.Of(0.5, "kelvin"), uncertainty.Arcsine, math.Inf(1), 0),
		line("difference of expansions", plain(1e-6), uncertainty.Rectangular, 50, -ls*theta),
		line("difference of temperatures", quantity.Of(0.05, "kelvin"), uncertainty.Rectangular, 2, -ls*as),
	})
	// Tolerances are half a digit of what the Guide prints, or of its recomputation to more digits.
	near(t, "combined standard uncertainty", c.Standard, 31.71,
		0.05) // the Guide rounds 0.05/sqrt 3 = 0.0289 K to 0.029 K
	near(t, "effective degrees of freedom", c.DOF, 16.7, 0.1)
	if len(c.Lines) != 4 {
		t.Fatalf("%d lines contribute, want 4: two sensitivities are nothing", len(c.Lines))
	}
	share := 0.0
	for i, want := range []float64{25, 9.7, 2.9, 16.6} {
		near(t, c.Lines[i].Name, c.Lines[i].Contribution, want, 0.05)
		share += c.Lines[i].Share
	}
	near(t, "shares", share, 1, 1e-12)
	near(t, "share of the standard", c.Lines[0].Share, 25*25/31.66/31.66, 0.005)
	k := uncertainty.CoverageFactor(0.99, c.DOF)
	near(t, "coverage factor at 99 %", k, 2.92, 0.005)
	near(t, "expanded uncertainty at 99 %", k*c.Standard, 93, 0.7)
	near(t, "coverage factor", c.K, uncertainty.CoverageFactor(uncertainty.Confidence, 16), 1e-12)
	near(t, "expanded uncertainty", c.Expanded, c.K*c.Standard, 1e-12)
}

// TestImpedance is example H.2 of JCGM 100:2008: resistance, reactance and impedance from five simultaneous readings of
// voltage, current and phase. Means come from what evaluates repeated readings, and figures from the covariance that a
// fit, chi-squared and E_n rest on: three readings whose errors are all shared. Results as printed there (table H.3).
func TestImpedance(t *testing.T) {
	observed := [][]float64{
		{5.007, 4.994, 5.005, 4.990, 4.999},
		{19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3},
		{1.0456, 1.0438, 1.0468, 1.0428, 1.0433},
	}
	var mean, u [3]float64
	v := mat.NewSymDense(3, nil)
	for i, o := range observed {
		e, err := uncertainty.TypeA(o, len(o))
		if err != nil {
			t.Fatal(err)
		}
		mean[i], u[i] = e.Value, e.Standard
		near(t, "degrees of freedom", e.DOF, 4, 0)
		for j := range i + 1 {
			v.SetSym(i, j, stat.Covariance(observed[i], observed[j], nil)/float64(len(o)))
		}
	}
	near(t, "u(V)", u[0], 0.0032, 5e-5)
	near(t, "u(I)", u[1], 0.0095e-3, 5e-8)
	near(t, "u(phi)", u[2], 0.00075, 5e-6)
	// V = L L^T: each column of L is one error that all three share.
	var chol mat.Cholesky
	if !chol.Factorize(v) {
		t.Fatal("the readings have no covariance")
	}
	var l mat.TriDense
	chol.LTo(&l)
	c := uncertainty.NewCovariance(3)
	for j := range 3 {
		c.AddShared(mat.Col(nil, j, &l))
	}
	axis := [3][]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	r := func(a, b []float64) float64 {
		return c.Between(a, b) / math.Sqrt(c.Between(a, a)*c.Between(b, b))
	}
	near(t, "r(V, I)", r(axis[0], axis[1]), -0.36, 0.005)
	near(t, "r(V, phi)", r(axis[0], axis[2]), 0.86, 0.005)
	near(t, "r(I, phi)", r(axis[1], axis[2]), -0.65, 0.005)
	near(t, "u(V) of the covariance", c.Standard(0), u[0], 1e-12)
	z, phi := mean[0]/mean[1], mean[2]
	gradient := func(f, perPhi float64) []float64 { return []float64{f / mean[0], -f / mean[1], perPhi} }
	resistance := gradient(z*math.Cos(phi), -z*math.Sin(phi))
	reactance := gradient(z*math.Sin(phi), z*math.Cos(phi))
	impedance := gradient(z, 0)
	for _, want := range []struct {
		name                   string
		value, printed         float64
		gradient               []float64
		uncertainty, tolerance float64
	}{
		{"R", z * math.Cos(phi), 127.732, resistance, 0.071, 0.0005},
		{"X", z * math.Sin(phi), 219.847, reactance, 0.295, 0.001},
		{"Z", z, 254.260, impedance, 0.236, 0.0005},
	} {
		near(t, want.name, want.value, want.printed, 0.0006)
		near(t, "u("+want.name+")", math.Sqrt(c.Between(want.gradient, want.gradient)), want.uncertainty,
			want.tolerance)
	}
	near(t, "r(R, X)", r(resistance, reactance), -0.588, 0.0005)
	near(t, "r(R, Z)", r(resistance, impedance), -0.485, 0.0005)
	near(t, "r(X, Z)", r(reactance, impedance), 0.993, 0.0005)
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
	// One contribution alone keeps its own, whatever rounding makes of the quotient; one degree is the least there is.
	for u := 0.01; u < 3; u *= 1.1 {
		if got := uncertainty.WelchSatterthwaite([]float64{u}, []float64{1}); !(got >= 1 && got < 1+1e-12) {
			t.Errorf("%g alone with one degree: got %.17g", u, got)
		}
	}
	near(t, "well known", uncertainty.WelchSatterthwaite([]float64{3, 4}, []float64{0, math.Inf(1)}), 0, 0)
}

// TestTypeA takes the temperatures of JCGM 100:2008, 4.4.3, table 1: 20 readings with the mean 100.145 degC and the
// standard deviation 1.489 degC, so that the mean is known to 0.333 degC.
func TestTypeA(t *testing.T) {
	readings := []float64{96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68,
		100.95,
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
	// Two groups at different levels, each with the variance 2: pooled 2 with 1 + 1 degrees of freedom; a single one is
	// mute.
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

// TestManyDegreesOfFreedom: with ever more degrees of freedom the coverage factor falls to that of the normal
// distribution, 2 for erf(sqrt 2), and stays there; a
// contribution without scatter has 1e50 of them.
func TestManyDegreesOfFreedom(t *testing.T) {
	last := math.Inf(1)
	for dof := 10.0; dof < 1e60; dof *= 10 {
		k := uncertainty.CoverageFactor(uncertainty.Confidence, dof)
		if !(k >= 2-1e-9 && k <= last+1e-9) {
			t.Errorf("k is %.12g with %g degrees of freedom, after %.12g with a tenth of them", k, dof, last)
		}
		last = k
	}
}
