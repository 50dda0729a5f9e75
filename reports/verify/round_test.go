package verify

import (
	"math"
	"testing"

	"wedgework/optics/quantity"
)

func TestTwoDigits(t *testing.T) {
	for _, c := range []struct {
		u    float64
		want int
	}{{0.041, 3}, {0.0996, 3}, {0.1, 2}, {1.5, 1}, {12, 0}, {4000, 0}, {0, 3}, {math.NaN(), 3}, {math.Inf(1), 3}, {1e-30, 9}} {
		if got := twoDigits(c.u); got != c.want {
			t.Errorf("twoDigits(%g) = %d, want %d", c.u, got, c.want)
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
		d := Departure{Fitted: Fitted{Unit: quantity.MustNamed(c.unit)}, U: c.u, Tolerance: c.tolerance}
		if got := d.Decimals(); got != c.value {
			t.Errorf("U = %g %s: %d decimals, want %d", c.u, c.unit, got, c.value)
		}
		if got := d.ToleranceDecimals(); got != c.tolerances {
			t.Errorf("tolerance %g %s: %d decimals, want %d", c.tolerance, c.unit, got, c.tolerances)
		}
	}
}
