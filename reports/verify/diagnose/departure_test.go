package diagnose

import (
	"math"
	"math/rand/v2"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
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
		if got := fitting.LogPhi(c.z); math.Abs(got-c.want) > 1e-8*math.Abs(c.want) {
			t.Errorf("at %g: got %.12g, want %.12g", c.z, got, c.want)
		}
	}
	// Three terms of the series leave 15/z^6.
	if a, b := fitting.LogPhi(-24.999999), fitting.LogPhi(-25.000001); math.Abs(a-b) > 1e-4 {
		t.Errorf("the two forms meet at -25 with %.9g and %.9g", a, b)
	}
}

// TestIntervalOfALeak: the interval holds as often as it says wherever the truth lies, next to no leak at all too, where the
// data decide whether it has two ends. Within two standard uncertainties of none no fit, which cannot go below it, falls
// short of the truth, and the interval misses only on the other side.
func TestIntervalOfALeak(t *testing.T) {
	v, err := model.NewVariable(model.Parameter{Path: "rotator1.extinction", Value: quantity.Of(45, "dB")})
	if err != nil {
		t.Fatal(err)
	}
	const sigma, draws = 1e-5, 40000
	rng := rand.New(rand.NewPCG(1, 9))
	for _, truth := range []float64{0.2, 1, 1.9, 2.1, 3, 3.8, 6} {
		held, ends := 0, 0
		for range draws {
			f := fitting.Estimate(v, max(truth*sigma+sigma*rng.NormFloat64(), v.Lo), sigma)
			most, least := tolerance.Leak(f.Low), 0.0
			if !f.AtLeast {
				least = tolerance.Leak(f.High)
				ends++
			}
			if least <= truth*sigma && truth*sigma <= most {
				held++
			}
		}
		share, want := 100*float64(held)/draws, 95.45
		if truth < 2 {
			want = 97.725
		}
		if math.Abs(share-want) > 0.42 { // four standard deviations of such a count
			t.Errorf("a leak of %g standard uncertainties is held in %.2f %%, %d with both ends", truth, share, ends)
		}
	}
}

func TestCombinationOfAny(t *testing.T) {
	e := &ranking{groups: [][]string{{"wedge1.roll", "- wedge2.axis", "- rotator1.angle"}}}
	for path, want := range map[string]string{
		"wedge1.roll":    "wedge1.roll - wedge2.axis - rotator1.angle",
		"rotator1.angle": "rotator1.angle - wedge1.roll + wedge2.axis",
		"beam.loss":      "",
	} {
		if got := e.combination(path); got != want {
			t.Errorf("%s: got %q, want %q", path, got, want)
		}
	}
}

// A level has two decimals however well it is known; what is no level follows its uncertainty.
func TestDecimalsOfParameters(t *testing.T) {
	for _, c := range []struct {
		unit              string
		u, tolerance      float64
		value, tolerances int
	}{{"dB", 0.004, 3, 2, 1}, {"dB", 3, 0.02, 2, 3}, {"deg", 0.041, 0.3, 3, 1}, {"um", 12, 20, 0, 1}} {
		d := Departure{Fitted: fitting.Fitted{Unit: quantity.MustNamed(c.unit)}, U: c.u, Tolerance: c.tolerance}
		if got := d.Decimals(); got != c.value {
			t.Errorf("U = %g %s: %d decimals, want %d", c.u, c.unit, got, c.value)
		}
		if got := d.ToleranceDecimals(); got != c.tolerances {
			t.Errorf("tolerance %g %s: %d decimals, want %d", c.tolerance, c.unit, got, c.tolerances)
		}
	}
}
