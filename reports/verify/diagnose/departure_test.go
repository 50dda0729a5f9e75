package diagnose

import (
	"math"
	"math/rand/v2"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
)

// TestIntervalOfALeak: the interval holds as often as it says wherever the truth lies, next to no leakage at all too,
// where the data decide whether it has two ends. Within two standard uncertainties of none no fit, which cannot go
// below it, falls short of the truth, and the interval misses only on the other side.
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

// Inside means inside by the expanded uncertainty, and outside means outside by it.
func TestNewDeparture(t *testing.T) {
	deg := float64(quantity.Degree)
	angle, err := model.NewVariable(model.Parameter{Path: "rotator1.angle", Value: quantity.Of(45, "deg")})
	if err != nil {
		t.Fatal(err)
	}
	leak, err := model.NewVariable(model.Parameter{Path: "rotator1.extinction", Value: quantity.Of(45, "dB")})
	if err != nil {
		t.Fatal(err)
	}
	tolerances := map[string]tolerance.Tolerance{
		"rotator1.angle":      {Shape: tolerance.Uniform, Value: quantity.Of(0.3, "deg")},
		"rotator1.extinction": {Shape: tolerance.Normal, Value: quantity.Of(1.5, "dB")},
	}
	for _, c := range []struct {
		name     string
		v        *model.Variable
		x, sigma float64
		within   document.Outcome
	}{
		{"inside", angle, 45.1 * deg, 0.02 * deg, document.Pass},
		{"outside", angle, 44.41 * deg, 0.015 * deg, document.Fail},
		{"on the edge", angle, 45.3 * deg, 0.015 * deg, document.Undecided},
		{"no departure", angle, 45.01 * deg, 0.02 * deg, document.Pass},
		{"leak", leak, 1e-3, 1e-5, document.Fail},
		{"better", leak, 1e-6, 1e-7, document.Pass},
		{"none", leak, 1e-7, 1e-6, document.Pass},
		{"too little known", leak, 1e-7, 1e-3, document.Undecided},
	} {
		if d := newDeparture(c.v, c.x, c.sigma, 0, tolerances); d.Within != c.within {
			t.Errorf("%s: got %v, want %v", c.name, d.Within, c.within)
		}
	}
}
